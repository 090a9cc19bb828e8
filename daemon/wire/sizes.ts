/** Ring scales, wire gauges, questions about sizes and final sizes as they cross HTTP. */

import * as z from 'zod/mini';
import type { Span } from '../piece/answer.ts';
import type { FinalSize } from '../piece/final-sizes.ts';
import type { GaugeScale } from '../piece/gauges.ts';
import type { RingScale } from '../piece/ring-scales.ts';
import type { SizeAnswer, SizeQuestion } from '../piece/size-questions.ts';
import { problemSchema } from './plan.ts';

const finite = z
  .number()
  .check(z.refine((value) => Number.isFinite(value), 'must be a finite number'));
const lengthMm = finite.check(z.gt(0), z.lte(1000));
const typed = z.string().check(z.maxLength(80));

const ringScaleIdSchema = z.enum(['iso', 'us', 'uk', 'japan']);
const gaugeScaleIdSchema = z.enum(['awg', 'swg']);

export const spanSchema = z.strictObject({ low: finite, value: finite, high: finite });

export const ringScaleSchema = z.strictObject({
  id: ringScaleIdSchema,
  name: z.string(),
  min: finite,
  max: finite,
  step: finite,
  diameterMmAtZero: finite,
  diameterMmPerSize: finite,
  source: z.string(),
  note: z.string(),
});

/** A scale with every size that is made, from the smallest. */
export const ringTableSchema = z.strictObject({
  scale: ringScaleSchema,
  sizes: z.array(z.strictObject({ size: finite, label: z.string(), insideDiameterMm: finite })),
});

export const gaugeScaleSchema = z.strictObject({
  id: gaugeScaleIdSchema,
  name: z.string(),
  thickest: z.int(),
  thinnest: z.int(),
  source: z.string(),
  note: z.string(),
});

/** A scale with every gauge, from the thickest. */
export const gaugeTableSchema = z.strictObject({
  scale: gaugeScaleSchema,
  gauges: z.array(z.strictObject({ gauge: z.int(), label: z.string(), diameterMm: finite })),
});

export const sizeQuestionSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('ringSize'), scale: ringScaleIdSchema, typed }),
  z.strictObject({ kind: z.literal('insideDiameter'), insideDiameterMm: lengthMm }),
  z.strictObject({ kind: z.literal('wire'), typed }),
  z.strictObject({
    kind: z.literal('startForRing'),
    finishedInsideDiameterMm: lengthMm,
    radialThicknessMm: lengthMm,
    deposit: spanSchema,
    boreShare: z.optional(spanSchema),
  }),
  z.strictObject({
    kind: z.literal('depositForRing'),
    startInsideDiameterMm: lengthMm,
    finishedInsideDiameterMm: lengthMm,
    boreShare: z.optional(spanSchema),
  }),
  z.strictObject({
    kind: z.literal('depositForWire'),
    startDiameterMm: lengthMm,
    finishedDiameterMm: lengthMm,
  }),
]);

const shareTaken = { boreShare: spanSchema, boreShareSource: z.nullable(z.string()) };

const sizeAnswerSchema = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('ring'),
    insideDiameterMm: finite,
    circumferenceMm: finite,
    scales: z.array(
      z.strictObject({
        scale: ringScaleIdSchema,
        size: z.nullable(finite),
        words: z.string(),
      }),
    ),
  }),
  z.strictObject({
    kind: z.literal('wire'),
    diameterMm: finite,
    gauges: z.array(
      z.strictObject({
        scale: gaugeScaleIdSchema,
        gauge: z.nullable(z.int()),
        words: z.string(),
      }),
    ),
  }),
  z.strictObject({
    kind: z.literal('ringStart'),
    insideDiameter: spanSchema,
    blankLength: spanSchema,
    ...shareTaken,
  }),
  z.strictObject({ kind: z.literal('ringDeposit'), deposit: spanSchema, ...shareTaken }),
  z.strictObject({ kind: z.literal('wireDeposit'), depositMm: finite }),
]);

/** The answer to a question about sizes, or the one thing that stands in its way. */
export const sizeResultSchema = z.discriminatedUnion('ok', [
  z.strictObject({ ok: z.literal(true), value: sizeAnswerSchema }),
  z.strictObject({ ok: z.literal(false), problem: problemSchema }),
]);

/** One dimension before and after, for plans that carry them. */
export const finalSizeSchema = z.strictObject({
  name: z.string(),
  label: z.string(),
  beforeMm: finite,
  after: spanSchema,
  closing: z.nullable(
    z.strictObject({
      kind: z.enum(['bore', 'gap']),
      state: z.enum(['staysOpen', 'mayClose', 'closes']),
      atThickness: spanSchema,
      words: z.string(),
    }),
  ),
  rings: z.array(
    z.strictObject({
      scale: ringScaleIdSchema,
      before: z.string(),
      after: z.string(),
      largest: z.string(),
      smallest: z.string(),
    }),
  ),
});

// The schemas and the pure words must stay the same thing; these lines fail to compile when they drift.
type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type SizeSchemaChecks = [
  Same<z.infer<typeof spanSchema>, Span>,
  Same<z.infer<typeof ringScaleSchema>, RingScale>,
  Same<z.infer<typeof gaugeScaleSchema>, GaugeScale>,
  Same<z.infer<typeof sizeQuestionSchema>, SizeQuestion>,
  Same<z.infer<typeof sizeAnswerSchema>, SizeAnswer>,
  Same<z.infer<typeof finalSizeSchema>, FinalSize>,
];
