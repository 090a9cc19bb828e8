/** The checks before a start as they cross the wire: what is well, what is not, and what to do. */

import * as z from 'zod/mini';
import { checkIds, checkStates, type Check } from '../run/checks/model.ts';

export const checkIdSchema = z.enum(checkIds);

export const checkSchema = z.strictObject({
  id: checkIdSchema,
  title: z.string(),
  /** `hard` refuses the start while it fails; `advice` has to be acknowledged. */
  weight: z.enum(['hard', 'advice']),
  state: z.enum(checkStates),
  /** The number and its bound. */
  sentence: z.string(),
  /** What to do; empty where nothing is to be done. */
  remedy: z.string(),
});

/** How fast this bench acts on a run, as it was frozen at arming; seconds are rounded up. */
export const reactionSchema = z.strictObject({
  readsPerSecond: z.number(),
  /** The supply's dialect allows fewer looks than the settings ask for. */
  slowedBySupply: z.boolean(),
  /** Off after this time without a valid reading. */
  silentOffSeconds: z.number(),
  /** From the last sign of the control process to the sentinel's OFF; null where nothing outside leads to the supply. */
  hungOffSeconds: z.nullable(z.number()),
  /** The alarm is raised once OFF is unconfirmed for this time. */
  offAlarmSeconds: z.number(),
});
export type Reaction = z.infer<typeof reactionSchema>;

/** All checks of a tank at one moment. */
export const tankChecksSchema = z.strictObject({
  tankId: z.string(),
  wallMs: z.number(),
  checks: z.array(checkSchema),
  /** What no software can do here; null on a simulated supply. */
  caution: z.nullable(z.string()),
  /** What has to be typed to leave a run alone as things are; null where nothing has to be. */
  phrase: z.nullable(z.string()),
  /** Of the run that is on the tank; null without one, and until the sentinel guards it. */
  reaction: z.nullable(reactionSchema),
});
export type TankChecks = z.infer<typeof tankChecksSchema>;

type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type CheckSchemaChecks = [Same<z.infer<typeof checkSchema>, Check>];
