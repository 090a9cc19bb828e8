/** Sensors of a bath as pages see them: where each stands now, and what was recorded of it in a run. */

import * as z from 'zod/mini';

const kind = z.enum(['temperature', 'level']);

/** One sensor now. */
export const liveSensorSchema = z.strictObject({
  id: z.string(),
  name: z.string(),
  kind,
  unit: z.string(),
  /** Null before the first value, and once the last is too old to be true. */
  value: z.nullable(z.number()),
  /** `well` until a limit is passed or the sensor falls silent. */
  state: z.enum(['well', 'low', 'high', 'missing']),
  /** Why there is no value, as a sentence; empty while there is one. */
  message: z.string(),
  low: z.nullable(z.number()),
  high: z.nullable(z.number()),
});
export type LiveSensor = z.infer<typeof liveSensorSchema>;

/** One value of a sensor in the log; time from the start of the run, ms. */
export const sensorRowSchema = z.strictObject({
  id: z.string(),
  name: z.string(),
  kind,
  unit: z.string(),
  atMs: z.number(),
  value: z.number(),
});
export type SensorRow = z.infer<typeof sensorRowSchema>;

/** Everything that one sensor said in a run, in columns. */
export const sensorTraceSchema = z.strictObject({
  id: z.string(),
  name: z.string(),
  kind,
  unit: z.string(),
  atMs: z.array(z.number()),
  values: z.array(z.number()),
});
export type SensorTrace = z.infer<typeof sensorTraceSchema>;
