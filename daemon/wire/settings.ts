/** The maker's settings as the Setup page reads and changes them; no secret crosses here but a new one. */

import * as z from 'zod/mini';
import { problemSchema } from './plan.ts';

const step = z.union([z.string().check(z.maxLength(100)), z.int().check(z.gte(0), z.lte(100))]);
/** The way to a place: names of keys, and positions in lists counted from 0. */
export const settingsPathSchema = z.array(step).check(z.minLength(1), z.maxLength(8));

/** A new secret, in the place of the value; it is kept in a file of its own and never given back. */
export const newSecretSchema = z.strictObject({
  secret: z.string().check(z.minLength(1), z.maxLength(1000)),
});

export const settingsChangeSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('set'), path: settingsPathSchema, value: z.unknown() }),
  /** A new last entry of a list. */
  z.strictObject({ kind: z.literal('add'), path: settingsPathSchema, value: z.unknown() }),
  z.strictObject({ kind: z.literal('remove'), path: settingsPathSchema }),
]);
export type SettingsChange = z.infer<typeof settingsChangeSchema>;

export const settingsSaveBodySchema = z.strictObject({
  /** Of the text that the changes were made for. */
  hash: z.string().check(z.regex(/^[0-9a-f]{64}$/, 'the hash that came with the settings')),
  changes: z.array(settingsChangeSchema).check(z.minLength(1), z.maxLength(100)),
});

/** A private address of this machine, and the name of the network interface that has it. */
const ownAddressSchema = z.strictObject({ address: z.string(), network: z.string() });
export type OwnAddress = z.infer<typeof ownAddressSchema>;

/** An address to type on another machine; not present while this machine does not have it. */
const servedAtSchema = z.strictObject({ url: z.string(), present: z.boolean() });
export type ServedAt = z.infer<typeof servedAtSchema>;

/** The settings file for the Setup page. */
export const settingsFileSchema = z.strictObject({
  /** The file whose text this is, and where a change of it is written. */
  file: z.string(),
  target: z.string(),
  hash: z.string(),
  /** As the file has it, without defaults; in place of a secret, that it is set and where it is kept. */
  data: z.unknown(),
  /** What is wrong with it as it stands, where somebody has changed it by hand. */
  problems: z.array(problemSchema),
  /** Places whose value is not in use yet. */
  waiting: z.array(z.string()),
  /** Names of tanks on which a run is; the settings are not taken over while there are any. */
  running: z.array(z.string()),
  dialects: z.array(z.string()),
  /** Roles that have a passphrase. */
  passphrases: z.array(z.string()),
  /** May change who gets in, and where the page is served: only a browser on the bench's own machine. */
  here: z.boolean(),
  /** Where this machine can be served to a phone of the same network. */
  ownAddresses: z.array(ownAddressSchema),
  /** Where the page is served to others now. */
  servedAt: z.array(servedAtSchema),
});
export type SettingsFile = z.infer<typeof settingsFileSchema>;

export const settingsSavedSchema = z.strictObject({
  file: z.string(),
  hash: z.string(),
  /** A file of the maker's own was made of the shipped one. */
  copied: z.boolean(),
  previous: z.nullable(z.string()),
  waiting: z.array(z.string()),
});

/** A bath's file for changing its figures. */
export const bathFileSchema = z.strictObject({
  file: z.string(),
  /** Where a change is written. */
  target: z.string(),
  hash: z.string(),
  data: z.unknown(),
});
export type BathFile = z.infer<typeof bathFileSchema>;

export const passphraseBodySchema = z.strictObject({
  role: z.enum(['view', 'stop', 'control']),
  /** Null takes it away. */
  passphrase: z.nullable(z.string().check(z.maxLength(1000))),
});

export const settingsHistorySchema = z.array(
  z.strictObject({ wallMs: z.number(), message: z.string() }),
);
