/** Weigh-ins as they are kept and as they cross HTTP and process borders. */

import * as z from 'zod/mini';
import type { CalliperReading, WeighIn, WeighInFigures } from '../run/weigh-in/model.ts';
import { weighInBounds as bounds } from '../run/weigh-in/problems.ts';
import { rangedSchema } from './plan.ts';
import { runIdSchema } from './run.ts';

const finite = z.number();
const line = z.regex(/^[^\p{C}\p{Zl}\p{Zp}]*$/u, 'text on one line, without control characters');
const grams = finite.check(z.gt(0), z.lte(bounds.mostGrams));
const millimetres = finite.check(z.gt(0), z.lte(bounds.mostMm));

export const calliperReadingSchema = z.strictObject({
  label: z.string().check(z.maxLength(bounds.longestLabel), line),
  beforeMm: millimetres,
  afterMm: millimetres,
  growthPerThickness: z.literal([-2, -1, 1, 2]),
});

export const weighInSchema = z.strictObject({
  beforeGrams: z.nullable(grams),
  afterGrams: z.nullable(grams),
  balanceGrams: finite.check(z.gte(bounds.leastBalanceGrams), z.lte(bounds.mostBalanceGrams)),
  hangersWeighed: z.boolean(),
  calliperMm: finite.check(z.gte(bounds.leastCalliperMm), z.lte(bounds.mostCalliperMm)),
  callipers: z.array(calliperReadingSchema).check(z.maxLength(bounds.mostReadings)),
  note: z.string().check(z.maxLength(bounds.longestNote)),
});

/** One version of the weigh-in of a run; versions count from 1, and a saved one never changes. */
export const savedWeighInSchema = z.strictObject({
  runId: runIdSchema,
  version: z.int().check(z.gte(1)),
  savedWallMs: finite,
  /** Who saved it. */
  by: z.string(),
  /** Null where it was taken back. */
  weighIn: z.nullable(weighInSchema),
});
export type SavedWeighIn = z.infer<typeof savedWeighInSchema>;

/** `version` is the one that was looked at, 0 for none; null takes the weigh-in back. */
export const weighInBodySchema = z.strictObject({
  version: z.int().check(z.gte(0)),
  weighIn: z.nullable(weighInSchema),
});

const remarkSchema = z.strictObject({
  code: z.enum([
    'little-metal',
    'much-metal',
    'coarse-balance',
    'hangers-not-weighed',
    'few-readings',
    'no-growth',
    'outside-readings',
    'odd-factor',
    'gaps',
  ]),
  text: z.string(),
});

export const weighInFiguresSchema = z.strictObject({
  gainGrams: z.nullable(rangedSchema),
  chargeAmpHours: rangedSchema,
  expectedGrams: rangedSchema,
  efficiency: z.nullable(rangedSchema),
  calliperEfficiency: z.nullable(rangedSchema),
  massMicrometres: z.nullable(rangedSchema),
  calliperMicrometres: z.nullable(rangedSchema),
  countedMicrometres: rangedSchema,
  areaFactor: z.nullable(rangedSchema),
  remarks: z.array(remarkSchema),
});

/** Several weigh-ins together; `halfWidth` is what the next one may lie off by. */
export const runningFigureSchema = z.strictObject({
  count: z.int(),
  value: finite,
  spread: finite,
  halfWidth: finite,
});

/** The weigh-in of a run, with what follows from it and what it offers. Nothing of it is applied. */
export const weighInViewSchema = z.strictObject({
  runId: runIdSchema,
  /** The newest version; null where nobody weighed. */
  saved: z.nullable(savedWeighInSchema),
  /** Null where there is no charge to hold it against, or nothing that was not taken back. */
  figures: z.nullable(weighInFiguresSchema),
  /** Why there are no figures, one sentence; null where there are some. */
  why: z.nullable(z.string()),
  /** Whether hangers are parts of the piece. */
  hasHangers: z.boolean(),
  /** Whether the charge of earlier runs is in it, so that the mass before was that before them. */
  carriesOn: z.boolean(),
  /** The piece of the library that was run; null where it was not saved there. */
  pieceRef: z.nullable(z.strictObject({ id: z.string(), version: z.int() })),
  /** The run's area factor so far, 1 where none was set. */
  plannedAreaFactor: finite,
  /** The bath this run was in, for its ledger. */
  tankId: z.string(),
  bathId: z.string(),
  bathName: z.string(),
  /** Efficiency that the run was planned with. */
  plannedEfficiency: z.strictObject({ value: finite, uncertainty: finite, source: z.string() }),
  /** The efficiency that plans in this bath go by in place of its file; null where they go by the file. */
  adoptedEfficiency: z.nullable(
    z.strictObject({ value: finite, uncertainty: finite, by: z.string(), savedWallMs: finite }),
  ),
  /** All weigh-ins of this bath by mass. */
  runningEfficiency: z.nullable(runningFigureSchema),
  /** All weigh-ins of this piece by callipers, as a factor on its area without any factor. */
  runningAreaFactor: z.nullable(runningFigureSchema),
});
export type WeighInView = z.infer<typeof weighInViewSchema>;

export const weighInCommandSchema = z.strictObject({
  kind: z.literal('weigh-in'),
  runId: runIdSchema,
  by: z.string().check(z.minLength(1), z.maxLength(80), line),
  ...weighInBodySchema.shape,
});

type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type WeighInSchemaChecks = [
  Same<z.infer<typeof weighInSchema>, WeighIn>,
  Same<z.infer<typeof calliperReadingSchema>, CalliperReading>,
  Same<z.infer<typeof weighInFiguresSchema>, WeighInFigures>,
];
