/** A run as it is taken away: the one JSON document that holds all of it, as readers of it may rely on. */

import * as z from 'zod/mini';
import { planChangeSchema, runNoteSchema } from './run-book.ts';
import { alarmSchema, eventRowSchema, readingRowSchema, runRecordSchema } from './run.ts';
import { sensorTraceSchema } from './sensors.ts';
import { savedWeighInSchema, weighInFiguresSchema } from './weigh-in.ts';

/** Says what the file is and by which rules to read it; a key that joins leaves the version as it is. */
export const runDocumentKind = { kind: 'nightbath-run', version: 1 } as const;

/** What the newest weigh-in gives, worked out when the document was written. */
export const weighInResultSchema = z.strictObject({
  /** The version of the weigh-in that it was worked out from. */
  version: z.int(),
  /** Efficiencies are shares of 1, each with its range; `massMicrometres` and `calliperMicrometres` are mean thicknesses. Null where there is nothing to hold it against. */
  figures: z.nullable(weighInFiguresSchema),
  /** Why there are no figures, one sentence; null where there are some. */
  why: z.nullable(z.string()),
});
export type WeighInResult = z.infer<typeof weighInResultSchema>;

/** Everything is as on the wire; what may be left out is left out where there was none of it. */
export const runDocumentSchema = z.strictObject({
  document: z.strictObject({ kind: z.literal('nightbath-run'), version: z.literal(1) }),
  /** With the plan as it stood at the end. */
  run: runRecordSchema,
  events: z.array(eventRowSchema),
  alarms: z.optional(z.array(alarmSchema)),
  sensors: z.optional(z.array(sensorTraceSchema)),
  /** A photo is named by its `picture.id`, under which `/api/pictures/{id}` has it. */
  notes: z.optional(z.array(runNoteSchema)),
  /** Changes of target and density, the first one first, each with the plan until then. */
  changes: z.optional(z.array(planChangeSchema)),
  /** Every version, the newest first. */
  weighIns: z.optional(z.array(savedWeighInSchema)),
  /** Left out where nobody weighed, or where it was taken back. */
  weighInResult: z.optional(weighInResultSchema),
  readings: z.array(readingRowSchema),
});
