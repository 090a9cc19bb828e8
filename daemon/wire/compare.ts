/** The answer to a comparison of densities as it crosses HTTP. */

import * as z from 'zod/mini';
import type { Comparison } from '../run/plan-compare.ts';
import { problemSchema } from './plan.ts';

const finite = z.number();
const riskSchema = z.enum(['none', 'some', 'high']);

export const comparisonRowSchema = z.strictObject({
  densityAmpsPerDm2: finite,
  startable: z.boolean(),
  thicknessMicrometres: finite,
  thinnestMicrometres: finite,
  durationMs: finite,
  leftMs: z.nullable(finite),
  holdEndAmps: finite,
  wagnerAt10Mm: finite,
  recessReachMm: finite,
  burning: riskSchema,
  dull: riskSchema,
  endWallMs: z.nullable(finite),
  endLocal: z.nullable(z.string()),
  nightHours: z.nullable(finite),
  inTime: z.nullable(z.boolean()),
  against: z.array(z.string()),
});

/** Rows in the order of the densities asked for, or what stands in the way. */
export const comparisonSchema = z.discriminatedUnion('ok', [
  z.strictObject({ ok: z.literal(true), rows: z.array(comparisonRowSchema) }),
  z.strictObject({ ok: z.literal(false), problems: z.array(problemSchema) }),
]);

// The schema and the pure words must stay the same thing; this line fails to compile when they drift.
type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type ComparisonSchemaCheck = Same<z.infer<typeof comparisonSchema>, Comparison>;
