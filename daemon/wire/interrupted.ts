/** A run that was cut short, as it waits for the maker to carry it on or to end it. */

import * as z from 'zod/mini';
import { longestNote } from './bounds.ts';
import { rangedSchema } from './plan.ts';
import { runIdSchema } from './run.ts';

const finite = z.number();

export const interruptedRunSchema = z.strictObject({
  runId: runIdSchema,
  tankId: z.string(),
  /** The tank's name in the settings of today; null where they have no such tank any more. */
  tankName: z.nullable(z.string()),
  pieceName: z.string(),
  bathName: z.string(),
  simulated: z.boolean(),
  /** Why it ended, one sentence. */
  reason: z.string(),
  startedWallMs: finite,
  /** When it was last measured. */
  seenWallMs: finite,
  /** Whether its output has been read back as off since. */
  offConfirmed: z.boolean(),
  ampHours: finite,
  /** The upper bound takes the current as having flowed on until OFF was certain. */
  lowAmpHours: finite,
  highAmpHours: finite,
  targetAmpHours: finite,
  thicknessMicrometres: rangedSchema,
  targetMicrometres: finite,
  /** The runs whose charge it carries, the nearest first. */
  earlierRunIds: z.array(runIdSchema),
  /** What to know before it is carried on, a sentence each. */
  remarks: z.array(z.string()),
  /** Why it cannot be carried on as things are, and what to do; null where it can. */
  hindrance: z.nullable(z.string()),
});
export type InterruptedRun = z.infer<typeof interruptedRunSchema>;

export const endBodySchema = z.strictObject({
  /** Kept with the decision; may be empty. */
  note: z.string().check(z.maxLength(longestNote)),
});
