/** Messages between the sentinel and its two children, over Node's own channel. */

import * as z from 'zod/mini';

/** How to switch a supply off from outside the control process; see the driver contract. */
export const offScriptSchema = z.strictObject({
  path: z.nullable(z.string()),
  baudRate: z.nullable(z.int()),
  off: z.string(),
  verifyQuery: z.nullable(z.string()),
  verifyOffPattern: z.nullable(z.string()),
  /** Who stood there last: a question, and the reply to it; null while that is not known. */
  identity: z.nullable(
    z.strictObject({
      query: z.string(),
      reply: z.string(),
      /** What any identity looks like; left out where its driver does not say. */
      pattern: z.optional(z.string()),
      /** How long the supply may take for a reply; left out where its driver does not say. */
      timeoutMs: z.optional(z.number()),
    }),
  ),
});
export type SentinelOffScript = z.infer<typeof offScriptSchema>;

/** What a run may do at the most, by its own plan; handed over when it is armed. */
export const runBoundsSchema = z.strictObject({
  runId: z.string(),
  maxAmps: z.number(),
  maxVolts: z.number(),
  /** Time with the output on. */
  maxDurationMs: z.number(),
  /** Of this run alone, without what an earlier one has carried over. */
  maxChargeAmpHours: z.number(),
});
export type RunBounds = z.infer<typeof runBoundsSchema>;

/** What control believes of a tank after a judged tick. */
export const tankReportSchema = z.strictObject({
  tankId: z.string(),
  /** The run that has the word on the output; null where there is none. */
  runId: z.nullable(z.string()),
  output: z.enum(['confirmedOff', 'on', 'offRequested', 'unknown']),
  /** Control has sent ON and has not read back OFF since. */
  switchedOn: z.boolean(),
  /** Measured after the last OFF that was read back; null where there is no such reading. */
  amps: z.nullable(z.number()),
  /** What the run asks of the supply; null without a run. */
  askedAmps: z.nullable(z.number()),
  askedVolts: z.nullable(z.number()),
  /** What the supply last read back as its set-points; null where it was not asked. */
  readAmps: z.nullable(z.number()),
  readVolts: z.nullable(z.number()),
});
export type TankReport = z.infer<typeof tankReportSchema>;

export const toSentinelSchema = z.discriminatedUnion('kind', [
  /** Control: recovered and looping. */
  z.strictObject({ kind: z.literal('ready') }),
  /** Control: one tick of every tank was judged since the last beat. */
  z.strictObject({
    kind: z.literal('beat'),
    tick: z.int(),
    tanks: z.array(tankReportSchema),
  }),
  /** Control: how this tank would be switched off; nothing is opened yet. */
  z.strictObject({
    kind: z.literal('way'),
    tankId: z.string(),
    script: offScriptSchema,
    /** How long a tick of this tank takes, by its driver and its settings. */
    cycleMs: z.number(),
  }),
  /** Control: this tank may have its output on from now; hold its way to OFF ready. */
  z.strictObject({
    kind: z.literal('guard'),
    tankId: z.string(),
    script: offScriptSchema,
    bounds: runBoundsSchema,
  }),
  /** Control: the output is confirmed off; let go. */
  z.strictObject({ kind: z.literal('release'), tankId: z.string() }),
  /** Control: shut down in order; whether every output was confirmed off. */
  z.strictObject({ kind: z.literal('stopped'), offConfirmed: z.boolean() }),
  /** Control: nothing runs, and the settings have changed; end this bench in order and start it anew. */
  z.strictObject({ kind: z.literal('start-anew') }),
  /** Web: serving at this address. */
  z.strictObject({ kind: z.literal('listening'), url: z.string() }),
  /** Either: cannot go on; the sentence to print and the exit code to end with. */
  z.strictObject({ kind: z.literal('cannot-start'), message: z.string(), exitCode: z.int() }),
]);
export type ToSentinel = z.infer<typeof toSentinelSchema>;

export const fromSentinelSchema = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('guarding'),
    tankId: z.string(),
    /** From the last sign of a control that hangs to the OFF for this tank; null where it has no line. */
    hungOffMs: z.nullable(z.number()),
  }),
  z.strictObject({ kind: z.literal('cannot-guard'), tankId: z.string(), reason: z.string() }),
  /** The beat of this number was heard. */
  z.strictObject({ kind: z.literal('heard'), tick: z.int() }),
  /** Whether this computer is kept from going to sleep; the reason where it is not. */
  z.strictObject({ kind: z.literal('sleep'), held: z.boolean(), reason: z.string() }),
  z.strictObject({ kind: z.literal('shut-down') }),
]);
export type FromSentinel = z.infer<typeof fromSentinelSchema>;
