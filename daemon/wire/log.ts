/** The log as the page asks for it: a page of found runs, and the small picture of one. */

import * as z from 'zod/mini';
import {
  alarmSchema,
  eventRowSchema,
  runIdSchema,
  runRecordSchema,
  runSummarySchema,
  seriesSchema,
} from './run.ts';
import { sensorTraceSchema } from './sensors.ts';

const finite = z.number();

/** How a run may have turned out, as a search asks for it; a probe is a check or a drill. */
export const runResults = [
  'reached',
  'stopped',
  'tripped',
  'interrupted',
  'running',
  'probe',
] as const;
export type RunResult = (typeof runResults)[number];

/** Found runs, the latest first, and what can be searched for. */
export const logPageSchema = z.strictObject({
  /** All that were found, on every page. */
  total: z.int(),
  /** How many of them come before this page. */
  skip: z.int(),
  runs: z.array(runSummarySchema),
  /** Names of every bath in the log, found or not. */
  baths: z.array(z.string()),
});
export type LogPage = z.infer<typeof logPageSchema>;

export const crossSectionSchema = z.discriminatedUnion('shape', [
  z.strictObject({ shape: z.literal('round'), diameterMm: finite }),
  z.strictObject({ shape: z.literal('tube'), outsideMm: finite, insideMm: finite }),
  z.strictObject({ shape: z.literal('rectangle'), widthMm: finite, heightMm: finite }),
  z.strictObject({ shape: z.literal('flat'), thicknessMm: finite }),
]);

/** What a run's thumbnails are drawn from; thicknesses in micrometres, times in ms from its start. */
export const portraitSchema = z.strictObject({
  runId: runIdSchema,
  /** The input of the growth rings: the cut through the deciding part, and what has grown on it. */
  rings: z.strictObject({
    section: crossSectionSchema,
    grown: z.strictObject({ value: finite, low: finite, high: finite }),
    targetMicrometres: finite,
    hours: z.array(finite),
    lifts: z.array(finite),
    alarms: z.array(finite),
  }),
  /** The same few moments for both curves; the last one is the end of the run. */
  atMs: z.array(finite),
  amps: z.array(finite),
  thicknessMicrometres: z.array(finite),
});
export type Portrait = z.infer<typeof portraitSchema>;

/** All that shows one run, in one answer: curves and sensors thinned to so many points. */
export const runFolderSchema = z.strictObject({
  record: runRecordSchema,
  series: seriesSchema,
  events: z.array(eventRowSchema),
  alarms: z.array(alarmSchema),
  sensors: z.array(sensorTraceSchema),
  /** The cut through each part of the piece, in their order. */
  sections: z.array(crossSectionSchema),
});
export type RunFolderView = z.infer<typeof runFolderSchema>;
