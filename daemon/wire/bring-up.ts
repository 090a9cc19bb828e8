/** The bring-up of a supply as it crosses the wire: one dialect tried, and set-points with the output off. */

import * as z from 'zod/mini';

const host = z.string().check(z.regex(/^[A-Za-z0-9](?:[A-Za-z0-9._:%-]{0,252})$|^::1$/, 'a host'));

/** How a supply that no tank has yet is reached. */
export const supplyLinkSchema = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('serial'),
    path: z
      .string()
      .check(
        z.regex(
          /^(?:\/[^\p{Cc}]{1,1023}|(?:\\\\\.\\)?COM[1-9][0-9]{0,2})$/iu,
          'a full device path such as /dev/serial/by-id/usb-… or COM3',
        ),
      ),
    /** Null takes the dialect's own rate. */
    baudRate: z.nullable(z.int().check(z.gte(300), z.lte(4_000_000))),
  }),
  z.strictObject({
    kind: z.literal('tcp'),
    host,
    port: z.int().check(z.gte(1), z.lte(65_535)),
  }),
]);

const dialect = () => z.string().check(z.regex(/^[A-Za-z0-9_-]{1,64}$/, 'the name of a dialect'));

/** Asks who is there in one dialect. Nothing is set and nothing is switched. */
export const tryBodySchema = z.strictObject({ link: supplyLinkSchema, dialect: dialect() });

/** Sets a low voltage and current with the output off, with the limits, and reads all back. */
export const setBodySchema = z.strictObject({
  link: supplyLinkSchema,
  dialect: dialect(),
  maxAmps: z.number().check(z.gte(0.001), z.lte(500)),
  maxVolts: z.number().check(z.gte(0.1), z.lte(60)),
});

/** What a supply answered in one dialect. */
export const triedSchema = z.discriminatedUnion('fits', [
  z.strictObject({
    fits: z.literal(true),
    dialect: z.string(),
    identity: z.string(),
    /** A text that tells it from other supplies. */
    expectIdentity: z.string(),
    maxVolts: z.number(),
    maxAmps: z.number(),
    /** What it cannot do of what guards a run; empty where it can do it all. */
    lacks: z.string(),
    outputOn: z.nullable(z.boolean()),
    standingErrors: z.array(z.string()),
  }),
  z.strictObject({ fits: z.literal(false), dialect: z.string(), why: z.string() }),
]);
export type TriedDialect = z.infer<typeof triedSchema>;

export const setStepsSchema = z.array(
  z.strictObject({
    id: z.enum(['set-points', 'output']),
    state: z.enum(['ok', 'failed']),
    found: z.string(),
  }),
);
export type SetStep = z.infer<typeof setStepsSchema>[number];
