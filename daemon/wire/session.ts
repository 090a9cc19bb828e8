/** Who may do what: the three roles, what signing in takes, and what a page learns of itself. */

import * as z from 'zod/mini';
import { maxNameCharacters } from './bounds.ts';
import { roles } from './roles.ts';

export const roleSchema = z.enum(roles);

const name = z
  .string()
  .check(
    z.maxLength(maxNameCharacters),
    z.regex(/^[^\p{C}\p{Zl}\p{Zp}]*$/u, 'text on one line, without control characters'),
  );

export const signInBodySchema = z.strictObject({
  /** Whatever is longer than any passphrase is refused before it costs time. */
  passphrase: z.string().check(z.maxLength(256)),
  /** What the person wants to be called in the events of a run. */
  name: z.optional(name),
});

/** What a page may know of its own standing, signed in or not. */
export const standingSchema = z.strictObject({
  /** Null where somebody has to sign in first. */
  role: z.nullable(roleSchema),
  /** As given at sign-in; empty where none was. */
  name: z.string(),
  /** A browser on the machine of the bench itself. */
  here: z.boolean(),
  signedIn: z.boolean(),
  /** When the session ends however much it is used, wall ms; null without one. */
  endsWallMs: z.nullable(z.number()),
});
export type Standing = z.infer<typeof standingSchema>;

/** One session as those who hold control may see it. */
export const sessionViewSchema = z.strictObject({
  id: z.string(),
  role: roleSchema,
  name: z.string(),
  address: z.string(),
  signedInWallMs: z.number(),
  seenWallMs: z.number(),
});
export type SessionView = z.infer<typeof sessionViewSchema>;
