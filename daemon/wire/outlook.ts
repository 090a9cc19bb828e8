/** The answer to a plan request as it crosses HTTP: the plan, and what its reader wants to see beside it. */

import * as z from 'zod/mini';
import type { NamedClosure } from '../run/closures.ts';
import type { Planned } from '../run/outlook.ts';
import { crossSectionSchema } from './log.ts';
import { planResultSchema, stageSchema } from './plan.ts';
import { finalSizeSchema } from './sizes.ts';

const finite = z.number();
const index = z.int().check(z.gte(0));

export const namedClosureSchema = z.strictObject({
  partIndex: index,
  partName: z.string(),
  label: z.string(),
  closesAtMm: finite,
  acceptName: z.string(),
});

/** What is left to do where a run carries another on. */
export const leftSchema = z.strictObject({
  ampHours: finite,
  durationMs: finite,
  grownMicrometres: finite,
  holdStartAmps: finite,
  stages: z.array(stageSchema),
  share: finite,
});

const outlookSchema = z.strictObject({
  left: z.nullable(leftSchema),
  sizes: z.array(
    z.strictObject({ partIndex: index, label: z.string(), sizes: z.array(finalSizeSchema) }),
  ),
  closures: z.array(namedClosureSchema),
  section: crossSectionSchema,
  hoursMicrometres: z.array(finite),
  pace: z.strictObject({ bathId: z.string(), micrometresPerHour: finite }),
  likelyMeanings: z.array(
    z.strictObject({ clause: z.string(), ampsPerDm2: finite, text: z.string() }),
  ),
});

const [planned, refused] = planResultSchema.def.options;

/** A plan with its outlook, or what is wrong with the question. */
export const plannedSchema = z.discriminatedUnion('ok', [
  z.strictObject({ ...planned.shape, outlook: outlookSchema }),
  refused,
]);

// The schemas and the pure words must stay the same thing; these lines fail to compile when they drift.
type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type OutlookSchemaChecks = [
  Same<z.infer<typeof plannedSchema>, Planned>,
  Same<z.infer<typeof namedClosureSchema>, NamedClosure>,
];
