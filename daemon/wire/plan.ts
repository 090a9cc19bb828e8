/** Plan requests and plans as they cross HTTP and process borders. */

import * as z from 'zod/mini';
import type { Bath, Metal } from '../chemistry/model.ts';
import type { Problem } from '../piece/model.ts';
import { probeKinds } from '../run/probe-model.ts';
import type { Plan, PlanQuestion, PlanRequest, TankFacts } from '../run/model.ts';
import { materialsJudgementSchema } from './materials.ts';
import { pieceSchema } from './piece.ts';

const finite = z
  .number()
  .check(z.refine((value) => Number.isFinite(value), 'must be a finite number'));
const positive = finite.check(z.gt(0));
const share = finite.check(z.gte(0), z.lte(1));
const identifier = z.string().check(z.regex(/^[A-Za-z0-9_-]{1,64}$/));
const materialId = z.string().check(z.minLength(1), z.maxLength(80));

const thicknessSchema = z.strictObject({ kind: z.literal('thickness'), micrometres: positive });
const massSchema = z.strictObject({ kind: z.literal('mass'), grams: positive });
const chargeSchema = z.strictObject({ kind: z.literal('charge'), ampHours: positive });
const finalSizeSchema = z.strictObject({
  kind: z.literal('final-size'),
  partIndex: z.int().check(z.gte(0)),
  dimension: identifier,
  mm: positive,
});

export const targetSchema = z.discriminatedUnion('kind', [
  thicknessSchema,
  massSchema,
  chargeSchema,
  z.strictObject({ kind: z.literal('time'), hours: positive }),
  finalSizeSchema,
  z.strictObject({
    kind: z.literal('done-by'),
    goal: z.discriminatedUnion('kind', [
      thicknessSchema,
      massSchema,
      chargeSchema,
      finalSizeSchema,
    ]),
    localTime: z.string().check(z.maxLength(40)),
    timeZone: z.optional(z.string().check(z.maxLength(60))),
    nowWallMs: z.optional(finite),
  }),
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
  densityTyped: z.optional(z.string().check(z.minLength(1), z.maxLength(40))),
  contact: z.optional(z.nullable(z.strictObject({ points: z.int(), farthestMm: positive }))),
  acceptClosures: z.optional(z.array(z.string().check(z.maxLength(200))).check(z.maxLength(100))),
  acceptMaterials: z.optional(z.array(materialId).check(z.maxLength(50))),
  pieceRef: z.optional(z.strictObject({ id: identifier, version: z.int().check(z.gte(1)) })),
});

/** A request whose density may be left to its text, to the bath or to the clock. */
export const planQuestionSchema = z.strictObject({
  ...planRequestSchema.shape,
  densityAmpsPerDm2: z.optional(positive),
});

/** A question as it is put over HTTP: what is left of it is judged where a run is carried on. */
export const planAskSchema = z.strictObject({
  ...planQuestionSchema.shape,
  carriedAmpHours: z.optional(finite.check(z.gte(0))),
});

/** What is compared: one question at two or three densities, in A/dm2. */
export const compareBodySchema = z.strictObject({
  plan: planQuestionSchema,
  densitiesAmpsPerDm2: z.array(positive).check(z.minLength(2), z.maxLength(3)),
  carriedAmpHours: z.optional(finite.check(z.gte(0))),
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
  windowAmpsPerDm2: z.optional(z.readonly(z.tuple([finite, finite]))),
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

const bandSchema = z.strictObject({ low: finite, high: finite });

const evennessSchema = z.strictObject({
  maxToMean: bandSchema,
  meanToMin: bandSchema,
  thinnestMicrometres: finite,
  thickestMicrometres: finite,
  partIndex: z.int().check(z.gte(0)),
  form: z.string(),
  published: z.nullable(finite),
  source: z.string(),
  turnEveryMinutes: positive,
  turns: z.int(),
});

const dominantSchema = z.strictObject({
  source: z.enum(['area', 'efficiency', 'meter', 'metalDensity']),
  share: finite,
  halfWidth: finite,
  remedy: z.string(),
});

const hangerSchema = z.strictObject({
  partIndex: z.int().check(z.gte(0)),
  diameterMm: positive,
  amps: finite,
  ratingAmps: finite,
  riseKelvin: finite,
  dropVolts: finite,
});

const contactPlanSchema = z.strictObject({
  points: z.int(),
  farthestMm: positive,
  reachMm: positive,
  easyMm: positive,
  advisedPoints: z.int(),
  strikeAmpsPerDm2: positive,
  strikeMs: finite,
});

const doneByPlanSchema = z.strictObject({
  timeZone: z.string(),
  startWallMs: finite,
  dueWallMs: finite,
  endWallMs: finite,
  earliestWallMs: finite,
  clocks: z.enum(['once', 'twice', 'skipped']),
});

const probePlanSchema = z.strictObject({
  kind: z.enum(probeKinds),
  amps: positive,
  volts: positive,
  drillAmps: z.nullable(positive),
  lookMs: positive,
});

const finalSizePlanSchema = z.strictObject({
  partIndex: z.int().check(z.gte(0)),
  label: z.string(),
  beforeMm: finite,
  afterMm: rangedSchema,
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
  densityFrom: z.optional(z.enum(['typed', 'window', 'done-by'])),
  evenness: z.optional(evennessSchema),
  dominant: z.optional(dominantSchema),
  hanger: z.optional(z.nullable(hangerSchema)),
  contact: z.optional(z.nullable(contactPlanSchema)),
  doneBy: z.optional(z.nullable(doneByPlanSchema)),
  finalSize: z.optional(z.nullable(finalSizePlanSchema)),
  materials: z.optional(z.nullable(materialsJudgementSchema)),
  probe: z.optional(z.nullable(probePlanSchema)),
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
  Same<z.infer<typeof planQuestionSchema>, PlanQuestion>,
  Same<z.infer<typeof planSchema>, Plan>,
  Same<z.infer<typeof bathSchema>, Bath>,
  Same<z.infer<typeof metalSchema>, Metal>,
  Same<z.infer<typeof tankFactsSchema>, TankFacts>,
  Same<z.infer<typeof problemSchema>, Problem>,
];
