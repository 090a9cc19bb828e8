/** What a person adds to a run: notes with photos, changes of its plan, and turns of the piece. */

import * as z from 'zod/mini';
import { pictureIdSchema, storedPictureSchema } from './library.ts';
import { planSchema, rangedSchema } from './plan.ts';

const finite = z.number();

/** What one run keeps beside its readings. */
export const noteLimits = { maxCharacters: 1000, maxPerRun: 500, maxPhotosPerRun: 60 } as const;

/** Lines of plain text: no control characters but the end of a line. */
const noteText = z
  .string()
  .check(
    z.maxLength(noteLimits.maxCharacters),
    z.regex(/^(?:\n|[^\p{C}\p{Zl}\p{Zp}])*$/u, 'plain text, without control characters'),
  );

/** A note, a photo stored before, or both. */
export const noteBodySchema = z
  .strictObject({ text: noteText, picture: z.nullable(pictureIdSchema) })
  .check(
    z.refine(({ text, picture }) => text.trim() !== '' || picture !== null, {
      path: ['text'],
      message: 'some text, or a photo',
    }),
  );

/** A note as it was written; it does not change. */
export const runNoteSchema = z.strictObject({
  /** The event that it stands beside. */
  eventId: z.int(),
  /** Monotonic ms from the start of the run; null before it, and once the run is off its tank. */
  atMs: z.nullable(finite),
  wallMs: finite,
  by: z.string(),
  text: z.string(),
  picture: z.nullable(storedPictureSchema),
});
export type RunNote = z.infer<typeof runNoteSchema>;

/** A change of target or density, with the plan as it stood until then. */
export const planChangeSchema = z.strictObject({
  atMs: z.nullable(finite),
  wallMs: finite,
  by: z.string(),
  planBefore: planSchema,
});
export type PlanChange = z.infer<typeof planChangeSchema>;

/** What the plan of a run foresees, in columns; two rows of one moment where a plan took another's place. */
export const plannedCourseSchema = z.strictObject({
  /** From the start of the run, ms. */
  atMs: z.array(finite),
  amps: z.array(finite),
  ampHours: z.array(finite),
  thicknessMicrometres: z.array(finite),
});
export type PlannedCourse = z.infer<typeof plannedCourseSchema>;

/** Judged again by the planning itself, which names field, value and bound. */
const anyNumber = z.number();

export const runChangeSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('density'), ampsPerDm2: anyNumber }),
  z.strictObject({
    kind: z.literal('target'),
    target: z.discriminatedUnion('kind', [
      z.strictObject({ kind: z.literal('thickness'), micrometres: anyNumber }),
      z.strictObject({ kind: z.literal('mass'), grams: anyNumber }),
      z.strictObject({ kind: z.literal('charge'), ampHours: anyNumber }),
      /** The whole time of the run with its output on. */
      z.strictObject({ kind: z.literal('time'), hours: anyNumber }),
    ]),
  }),
]);

/** What a change would come to, before it is made. */
export const changeLookSchema = z.strictObject({
  /** "Target changed from 200 µm to 250 µm". */
  sentence: z.string(),
  /** It lets more current flow, or lets it flow for longer, and has to be confirmed. */
  raises: z.boolean(),
  densityAmpsPerDm2: finite,
  /** Largest current from here on, A. */
  largestAmps: finite,
  leftMs: finite,
  endsWallMs: finite,
  thicknessMicrometres: rangedSchema,
});
export type ChangeLook = z.infer<typeof changeLookSchema>;

/** Reminders to turn the piece, as they stand now. */
export const liveTurningSchema = z.strictObject({
  everyMinutes: finite,
  /** Time with the output on until the next turn, ms; below zero once it is due. */
  dueInMs: finite,
  isDue: z.boolean(),
  done: z.int(),
  missed: z.int(),
});
export type LiveTurning = z.infer<typeof liveTurningSchema>;
