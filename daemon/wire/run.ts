/** Runs, readings, events and alarms as they are stored and as they cross the wire. */

import * as z from 'zod/mini';
import { faultCodes, lifecycles } from '../run/model.ts';
import { planSchema } from './plan.ts';

const finite = z.number();
export const runIdSchema = z.string().check(z.regex(/^[A-Za-z0-9_-]{1,64}$/));
export const lifecycleSchema = z.enum(lifecycles);
export const faultCodeSchema = z.enum(faultCodes);

export const outcomeSchema = z.strictObject({
  end: z.enum(['reached', 'stopped', 'tripped', 'interrupted']),
  reason: z.string(),
  faultCode: z.nullable(faultCodeSchema),
});

/** Clocks of a computer that no hand and no time server moves: they begin when it is started. */
export const bootClocksSchema = z.strictObject({
  /** Which start of the computer that was: the same text, the same start. */
  bootId: z.string(),
  /** Time since then, ms: without what it slept, and with it. */
  awakeMs: finite,
  sinceBootMs: finite,
});
export type BootClocks = z.infer<typeof bootClocksSchema>;

/** How far the process that counted the charge of a run had seen, for whoever has to bound what came after. */
export const chargeSeenSchema = z.strictObject({
  /** Up to then all is in the count or in its bounds: from the start of the run, and by the wall clock, ms. */
  atMs: finite,
  wallMs: finite,
  /** What of the charge by then is in doubt upwards, A·h. */
  doubtAmpHours: finite,
  /** The most that may flow from then on, A: the run's limit, or what was found beyond it. */
  mostAmps: finite,
});
export type ChargeSeen = z.infer<typeof chargeSeenSchema>;

/** A run as a document: made at arming, closed once with its outcome. Times are wall ms since the epoch. */
export const runRecordSchema = z.strictObject({
  id: runIdSchema,
  kind: z.enum(['run', 'probe']),
  tankId: z.string(),
  /** The run this one carries on from; its charge is in `carriedAmpHours`. */
  continues: z.nullable(runIdSchema),
  carriedAmpHours: finite,
  simulated: z.boolean(),
  plan: planSchema,
  checklist: z.array(z.string()),
  armedWallMs: finite,
  startedWallMs: z.nullable(finite),
  /**
   * Read at the start, and at arming until then; null in virtual time, where the system does not tell
   * one of its starts from another, and in a log from before they were kept.
   */
  clocks: z.nullable(bootClocksSchema),
  endedWallMs: z.nullable(finite),
  lifecycle: lifecycleSchema,
  /** True once the run is over and its output has been read back as off. */
  offConfirmed: z.boolean(),
  outcome: z.nullable(outcomeSchema),
  ampHours: finite,
  lowAmpHours: finite,
  highAmpHours: finite,
  /** Null before the start, and in a log from before it was kept. */
  chargeSeen: z.nullable(chargeSeenSchema),
  thicknessMicrometres: finite,
});
export type RunRecord = z.infer<typeof runRecordSchema>;

/** A line of the log: a run without its plan's bulk. */
export const runSummarySchema = z.strictObject({
  id: runIdSchema,
  kind: z.enum(['run', 'probe']),
  tankId: z.string(),
  simulated: z.boolean(),
  pieceName: z.string(),
  bathName: z.string(),
  armedWallMs: finite,
  startedWallMs: z.nullable(finite),
  endedWallMs: z.nullable(finite),
  lifecycle: lifecycleSchema,
  outcome: z.nullable(outcomeSchema),
  ampHours: finite,
  thicknessMicrometres: finite,
  targetMicrometres: finite,
  continues: z.nullable(runIdSchema),
});
export type RunSummary = z.infer<typeof runSummarySchema>;

/** One stored reading. `atMs` counts from the start of the run on the monotonic clock. */
export const readingRowSchema = z.strictObject({
  atMs: finite,
  wallMs: finite,
  volts: finite,
  amps: finite,
  /** Wanted current, as commanded. */
  setAmps: finite,
  /** Charge counted so far, carried charge included. */
  ampHours: finite,
  thicknessMicrometres: finite,
  lifecycle: lifecycleSchema,
});
export type ReadingRow = z.infer<typeof readingRowSchema>;

export const eventRowSchema = z.strictObject({
  id: z.int(),
  runId: z.nullable(runIdSchema),
  tankId: z.string(),
  /** Monotonic ms from the start of the run; null before it. */
  atMs: z.nullable(finite),
  wallMs: finite,
  code: z.string(),
  message: z.string(),
});
export type EventRow = z.infer<typeof eventRowSchema>;

/** History once it is both acknowledged, by a person, and cleared: what it is about was seen to end. */
export const alarmSchema = z.strictObject({
  id: z.int(),
  runId: z.nullable(runIdSchema),
  tankId: z.string(),
  wallMs: finite,
  priority: z.enum(['stopped', 'act-soon', 'note']),
  code: z.string(),
  found: z.string(),
  cause: z.string(),
  remedy: z.string(),
  acknowledgedWallMs: z.nullable(finite),
  /** When what it is about was seen to have ended; null while it goes on. */
  clearedWallMs: z.nullable(finite),
});
export type Alarm = z.infer<typeof alarmSchema>;

/** Columns for charts and replay: bucket ends in ms from the start of the run, and min and max per bucket. */
export const seriesSchema = z.strictObject({
  runId: runIdSchema,
  atMs: z.array(finite),
  volts: z.array(finite),
  minVolts: z.array(finite),
  maxVolts: z.array(finite),
  amps: z.array(finite),
  minAmps: z.array(finite),
  maxAmps: z.array(finite),
  setAmps: z.array(finite),
  ampHours: z.array(finite),
  thicknessMicrometres: z.array(finite),
  lifecycle: z.array(lifecycleSchema),
});
export type Series = z.infer<typeof seriesSchema>;
