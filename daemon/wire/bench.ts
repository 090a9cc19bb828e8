/** What the bench looks like right now: the snapshot that HTTP, the live socket and the pages share. */

import * as z from 'zod/mini';
import { bathSchema, rangedSchema, tankFactsSchema } from './plan.ts';
import { liveTurningSchema } from './run-book.ts';
import { liveSensorSchema } from './sensors.ts';
import { interruptedRunSchema } from './interrupted.ts';
import { alarmSchema, eventRowSchema, lifecycleSchema, outcomeSchema, runIdSchema } from './run.ts';

const finite = z.number();

export const linkSchema = z.strictObject({
  state: z.enum(['connecting', 'connected', 'lost']),
  /** A sentence: the identity when connected, the reason when not. */
  message: z.string(),
  sinceWallMs: finite,
  description: z.string(),
  cycleMs: finite,
  /** How long a reading takes it, the median of the last ones, ms; null before the first. */
  answerMs: z.nullable(finite),
  timeouts: z.int(),
  garbled: z.int(),
  resyncs: z.int(),
});

export const liveReadingSchema = z.strictObject({
  wallMs: finite,
  volts: finite,
  amps: finite,
  setVolts: z.nullable(finite),
  setAmps: z.nullable(finite),
  outputOn: z.nullable(z.boolean()),
  regulation: z.enum(['constantCurrent', 'constantVoltage', 'unregulated', 'off', 'unknown']),
});

export const liveRunSchema = z.strictObject({
  id: runIdSchema,
  /** A probe looks at the bench for seconds and grows nothing. */
  kind: z.enum(['run', 'probe']),
  /** Counts every change of state; a command that names an older one is refused. */
  version: z.int(),
  pieceName: z.string(),
  bathName: z.string(),
  lifecycle: lifecycleSchema,
  /** One sentence for a person: "Ramping. Full current in 12 min." */
  sentence: z.string(),
  /** True once limits are programmed, read back and the run is on disk: start will be accepted. */
  ready: z.boolean(),
  armedWallMs: finite,
  startedWallMs: z.nullable(finite),
  elapsedMs: finite,
  /** With the output on, without the time in which the piece was lifted. */
  poweredMs: z.optional(finite),
  remainingMs: z.nullable(finite),
  endsWallMs: z.nullable(finite),
  thicknessMicrometres: rangedSchema,
  targetMicrometres: finite,
  ampHours: finite,
  lowAmpHours: finite,
  highAmpHours: finite,
  targetAmpHours: finite,
  massGrams: finite,
  areaDm2: finite,
  densityAmpsPerDm2: finite,
  wantedAmps: finite,
  /** The density of the hold that the plan stands at, A/dm2. */
  holdAmpsPerDm2: z.optional(finite),
  /** Left out while nobody wants to be reminded of turning the piece. */
  turning: z.optional(liveTurningSchema),
  outcome: z.nullable(outcomeSchema),
});
export type LiveRun = z.infer<typeof liveRunSchema>;

export const tankSnapshotSchema = z.strictObject({
  id: z.string(),
  name: z.string(),
  simulated: z.boolean(),
  /** How many times faster than the clock; above 1 only on a simulated tank in this process. */
  timeScale: finite,
  /** The tank's own wall clock; differs from ours only on a hurried simulated tank. */
  wallMs: finite,
  facts: tankFactsSchema,
  bathId: z.string(),
  link: linkSchema,
  output: z.enum(['confirmedOff', 'on', 'offRequested', 'unknown']),
  outputSinceWallMs: finite,
  /** A run has the word on the output, or an OFF is not read back yet; left out where neither is so. */
  awaitsOff: z.optional(z.literal(true)),
  reading: z.nullable(liveReadingSchema),
  run: z.nullable(liveRunSchema),
  /** Alarms that ask for somebody: not acknowledged yet, whether their cause goes on or not. */
  alarms: z.array(alarmSchema),
  /** Alarms that somebody has acknowledged while their cause goes on; left out where there is none. */
  quietAlarms: z.optional(z.array(alarmSchema)),
  /** Left out where the tank has none. */
  sensors: z.optional(z.array(liveSensorSchema)),
});
export type TankSnapshot = z.infer<typeof tankSnapshotSchema>;

/** How figures are shown; nothing that is counted depends on it. */
const unitsSchema = z.strictObject({
  density: z.enum(['A/dm2', 'A/ft2', 'A/in2']),
  length: z.enum(['mm', 'in']),
  wire: z.enum(['mm', 'awg', 'swg']),
});

export const benchSnapshotSchema = z.strictObject({
  wireVersion: z.int(),
  studio: z.string(),
  /** Left out, those of the trade: A/dm2 and mm. */
  units: z.optional(unitsSchema),
  wallMs: finite,
  /** False while the control process is away; the tanks are then the last known ones. */
  controlAlive: z.boolean(),
  tanks: z.array(tankSnapshotSchema),
  /** Runs that were cut short and wait for the maker's decision, the newest first. */
  interrupted: z.array(interruptedRunSchema),
  baths: z.array(bathSchema),
});
export type BenchSnapshot = z.infer<typeof benchSnapshotSchema>;

/** Messages on the live socket, server to page. The page sends nothing: commands go by POST. */
export const liveMessageSchema = z.discriminatedUnion('type', [
  z.strictObject({ type: z.literal('bench'), bench: benchSnapshotSchema }),
  z.strictObject({ type: z.literal('tank'), sequence: z.int(), tank: tankSnapshotSchema }),
  z.strictObject({ type: z.literal('interrupted'), runs: z.array(interruptedRunSchema) }),
  z.strictObject({ type: z.literal('event'), event: eventRowSchema }),
  z.strictObject({ type: z.literal('alarm'), alarm: alarmSchema }),
  z.strictObject({ type: z.literal('control'), alive: z.boolean(), wallMs: finite }),
]);
export type LiveMessage = z.infer<typeof liveMessageSchema>;
