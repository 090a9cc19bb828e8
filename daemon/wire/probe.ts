/** What probes came to, as it is stored and as it crosses the wire. */

import * as z from 'zod/mini';
import { probeKinds, probeVerdicts } from '../run/probe-model.ts';
import { runIdSchema } from './run.ts';

const finite = z.number();

export const probeBodySchema = z.strictObject({
  probe: z.enum(probeKinds),
  /** The steady current of a meter probe, A; the others have their own. */
  amps: z.optional(finite),
});

/** One probe on one supply. */
export const probeResultSchema = z.strictObject({
  runId: runIdSchema,
  kind: z.enum(probeKinds),
  tankId: z.string(),
  /** Maker, model and serial number of the supply, as far as it tells them. */
  supply: z.string(),
  verdict: z.enum(probeVerdicts),
  volts: finite,
  amps: finite,
  /** From the trip of a drill until OFF was read back, ms; null where there was none. */
  offMs: z.nullable(finite),
  wallMs: finite,
  sentence: z.string(),
});
export type ProbeResult = z.infer<typeof probeResultSchema>;
