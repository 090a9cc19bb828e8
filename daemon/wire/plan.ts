/** Plan requests and plans as they cross HTTP and process borders. */

import * as z from 'zod/mini';
import type { Bath, Metal } from '../chemistry/model.ts';
import type { Problem } from '../piece/model.ts';
import type { Plan, PlanRequest, TankFacts } from '../run/model.ts';
import { pieceSchema } from './piece.ts';

const finite = z
  .number()
  .check(z.refine((value) => Number.isFinite(value), 'must be a finite number'));
const positive = finite.check(z.gt(0));
const share = finite.check(z.gte(0), z.lte(1));
const identifier = z.string().check(z.regex(/^[A-Za-z0-9_-]{1,64}$/));

export const targetSchema = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('thickness'), micrometres: positive }),
  z.strictObject({ kind: z.literal('mass'), grams: positive }),
  z.strictObject({ kind: z.literal('charge'), ampHours: positive }),
  z.strictObject({ kind: z.literal('time'), hours: positive }),
]);

export const paintSchema = z.enum(['silver', 'copper', 'graphite', 'none']);

export const planRequestSchema = z.strictObject({
  piece: pieceSchema,
  tankId: identifier,
  bathId: identifier,
  paint: paintSchema,
  densityAmpsPerDm2: positive,
  target: targetSchema,
  trickle: z.nullable(z.strictObject({ densityAmpsPerDm2: positive, maxHours: positive })),
  start: z.optional(
    z.nullable(
      z.strictObject({
        strikeShare: finite.check(z.gte(0.01), z.lte(1)),
        strikeMinutes: finite.check(z.gte(0), z.lte(600)),
        rampMinutes: finite.check(z.gte(0), z.lte(600)),
      }),
    ),
  ),
});

export const problemSchema = z.strictObject({
  field: z.string(),
  value: z.string(),
  bound: z.string(),
  message: z.string(),
});

export const rangedSchema = z.strictObject({ value: finite, low: finite, high: finite });

export const metalSchema = z.strictObject({
  id: z.enum([
    'copper-II',
    'copper-I',
    'nickel-II',
    'silver-I',
    'gold-I',
    'gold-III',
    'zinc-II',
    'tin-II',
    'tin-IV',
  ]),
  name: z.string(),
  symbol: z.string(),
  molarMassGramsPerMol: positive,
  molarMassSource: z.string(),
  valence: z.int(),
  densityGramsPerCm3: positive,
  densitySource: z.string(),
});

export const bathSchema = z.strictObject({
  id: identifier,
  name: z.string().check(z.minLength(1)),
  metal: metalSchema.shape.id,
  agitation: z.enum(['still', 'agitated']),
  window: z.strictObject({
    minAmpsPerDm2: positive,
    typicalAmpsPerDm2: positive,
    maxAmpsPerDm2: positive,
    source: z.string(),
  }),
  efficiency: z.strictObject({
    value: share.check(z.gt(0)),
    uncertainty: share,
    source: z.string(),
  }),
  temperature: z.strictObject({ minCelsius: finite, maxCelsius: finite, source: z.string() }),
  conductivity: z.strictObject({ siemensPerMetre: positive, source: z.string() }),
  loading: z.strictObject({ maxAmpsPerLitre: positive, source: z.string() }),
  notes: z.array(z.string()),
});

export const tankFactsSchema = z.strictObject({
  id: identifier,
  name: z.string(),
  volumeLitres: positive,
  anodeAreaDm2: positive,
  simulated: z.boolean(),
  maxAmps: positive,
  maxVolts: positive,
  maxHours: positive,
  supply: z.strictObject({
    minAmps: finite,
    maxAmps: positive,
    stepAmps: positive,
    maxVolts: positive,
    stepVolts: positive,
    meterUncertainty: share,
    overVoltageLevel: z.boolean(),
    overCurrentLevel: z.boolean(),
  }),
});

export const noticeSchema = z.strictObject({
  severity: z.enum(['refuse', 'warn', 'note']),
  code: z.string(),
  field: z.string(),
  value: z.string(),
  bound: z.string(),
  message: z.string(),
  remedy: z.string(),
});

export const stageSchema = z.strictObject({
  kind: z.enum(['strike', 'ramp', 'hold', 'trickle']),
  startAmpsPerDm2: finite,
  endAmpsPerDm2: finite,
  durationMs: finite,
});

export const runLimitsSchema = z.strictObject({
  maxAmps: positive,
  maxVolts: positive,
  setVolts: positive,
  overVoltageVolts: z.nullable(positive),
  overCurrentAmps: z.nullable(positive),
  maxDurationMs: positive,
  maxChargeAmpHours: positive,
  maxSilenceMs: positive,
});

export const planSchema = z.strictObject({
  request: planRequestSchema,
  bath: bathSchema,
  metal: metalSchema,
  tank: tankFactsSchema,
  growth: z.strictObject({ areaMm2: finite, meanCurvatureMm: finite, gaussThird: finite }),
  areaDm2: rangedSchema,
  stages: z.array(stageSchema),
  targetChargeAmpHours: positive,
  thicknessMicrometres: rangedSchema,
  massGrams: rangedSchema,
  durationMs: positive,
  strikeAmps: finite,
  holdStartAmps: finite,
  holdEndAmps: finite,
  expectedVolts: rangedSchema,
  anodeLossGrams: finite,
  energyWattHours: finite,
  limits: runLimitsSchema,
  decidingPart: z.int().check(z.gte(0)),
  notices: z.array(noticeSchema),
  startable: z.boolean(),
});

/** The answer to a plan request; problems name the field, the value and the bound. */
export const planResultSchema = z.discriminatedUnion('ok', [
  z.strictObject({ ok: z.literal(true), plan: planSchema }),
  z.strictObject({ ok: z.literal(false), problems: z.array(problemSchema) }),
]);

// The schemas and the pure words must stay the same thing; these lines fail to compile when they drift.
type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type SchemaChecks = [
  Same<z.infer<typeof planRequestSchema>, PlanRequest>,
  Same<z.infer<typeof planSchema>, Plan>,
  Same<z.infer<typeof bathSchema>, Bath>,
  Same<z.infer<typeof metalSchema>, Metal>,
  Same<z.infer<typeof tankFactsSchema>, TankFacts>,
  Same<z.infer<typeof problemSchema>, Problem>,
];
