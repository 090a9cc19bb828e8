/** Messages between the sentinel and its two children, over Node's own channel. */

import * as z from 'zod/mini';

/** How to switch a supply off from outside the control process; see the driver contract. */
export const offScriptSchema = z.strictObject({
  path: z.nullable(z.string()),
  baudRate: z.nullable(z.int()),
  off: z.string(),
  verifyQuery: z.nullable(z.string()),
  verifyOffPattern: z.nullable(z.string()),
});
export type SentinelOffScript = z.infer<typeof offScriptSchema>;

export const toSentinelSchema = z.discriminatedUnion('kind', [
  /** Control: recovered and looping. */
  z.strictObject({ kind: z.literal('ready') }),
  /** Control: one tick of every tank was judged since the last beat. */
  z.strictObject({ kind: z.literal('beat'), tick: z.int() }),
  /** Control: this tank may have its output on from now; hold its way to OFF ready. */
  z.strictObject({ kind: z.literal('guard'), tankId: z.string(), script: offScriptSchema }),
  /** Control: the output is confirmed off; let go. */
  z.strictObject({ kind: z.literal('release'), tankId: z.string() }),
  /** Control: shut down in order; whether every output was confirmed off. */
  z.strictObject({ kind: z.literal('stopped'), offConfirmed: z.boolean() }),
  /** Web: serving at this address. */
  z.strictObject({ kind: z.literal('listening'), url: z.string() }),
  /** Either: cannot go on; the sentence to print and the exit code to end with. */
  z.strictObject({ kind: z.literal('cannot-start'), message: z.string(), exitCode: z.int() }),
]);
export type ToSentinel = z.infer<typeof toSentinelSchema>;

export const fromSentinelSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('guarding'), tankId: z.string() }),
  z.strictObject({ kind: z.literal('cannot-guard'), tankId: z.string(), reason: z.string() }),
  z.strictObject({ kind: z.literal('shut-down') }),
]);
export type FromSentinel = z.infer<typeof fromSentinelSchema>;
