/** The ledger of a bath: what was done and seen, and how it stands by the charge that has passed. */

import * as z from 'zod/mini';
import { symptomIds } from '../chemistry/symptoms.ts';
import { rangedSchema } from './plan.ts';
import { runIdSchema } from './run.ts';
import { runningFigureSchema } from './weigh-in.ts';

const finite = z.number();
const line = z.regex(/^[^\p{C}\p{Zl}\p{Zp}]*$/u, 'text on one line, without control characters');
const identifier = z.string().check(z.regex(/^[A-Za-z0-9_-]{1,64}$/));
const count = z.int().check(z.gte(1));
const note = z.string().check(z.maxLength(500));
const additiveName = z.string().check(z.minLength(1), z.maxLength(60), line);
const unit = z.enum(['mL', 'g']);

/** Bounds of the figures that a maker enters. */
export const ledgerBounds = {
  mostAmount: 100_000,
  mostAnodeGrams: 1_000_000,
  leastCelsius: -5,
  mostCelsius: 110,
  mostPerAmpHour: 1_000,
  mostCarbonAmpHoursPerLitre: 100_000,
  mostAdditives: 8,
  /** No entry is older than this century. */
  earliestWallMs: Date.UTC(2000, 0, 1),
} as const;

const amount = finite.check(z.gt(0), z.lte(ledgerBounds.mostAmount));

export const additiveFigureSchema = z.strictObject({
  name: additiveName,
  unit,
  perAmpHour: finite.check(z.gt(0), z.lte(ledgerBounds.mostPerAmpHour)),
  leastAmount: finite.check(z.gt(0), z.lte(ledgerBounds.mostAmount)),
  source: z.string().check(z.maxLength(300)),
});

export const upkeepKinds = ['dummy', 'carbon', 'filter', 'water', 'anodes', 'other'] as const;

/** One thing that was done to a bath or seen on it. */
export const ledgerEntrySchema = z.discriminatedUnion('kind', [
  z
    .strictObject({
      kind: z.literal('addition'),
      name: additiveName,
      unit,
      /** What was given. */
      amount,
      /** The whole dose that it was a part of; the rest stays due. Left out where it was all of it. */
      plannedAmount: z.optional(amount),
      note,
    })
    .check(
      z.refine(({ amount: given, plannedAmount: whole }) => whole === undefined || whole > given, {
        error: 'more than the amount, of which it is the whole dose',
        path: ['plannedAmount'],
      }),
    ),
  /** All anodes of the bath together on a balance. */
  z.strictObject({
    kind: z.literal('anode'),
    grams: finite.check(z.gt(0), z.lte(ledgerBounds.mostAnodeGrams)),
    note,
  }),
  z.strictObject({
    kind: z.literal('temperature'),
    celsius: finite.check(z.gte(ledgerBounds.leastCelsius), z.lte(ledgerBounds.mostCelsius)),
    note,
  }),
  z.strictObject({
    kind: z.literal('symptom'),
    symptom: z.enum(symptomIds),
    runId: z.nullable(runIdSchema),
    note,
  }),
  z.strictObject({ kind: z.literal('upkeep'), what: z.enum(upkeepKinds), note }),
  /** The maker's own figures; the latest ones count. */
  z.strictObject({
    kind: z.literal('figures'),
    additives: z.array(additiveFigureSchema).check(z.maxLength(ledgerBounds.mostAdditives)),
    /** Null where no carbon treatment is wanted by charge. */
    carbonAmpHoursPerLitre: z.nullable(
      finite.check(z.gt(0), z.lte(ledgerBounds.mostCarbonAmpHoursPerLitre)),
    ),
    anodes: z.enum(['soluble', 'insoluble']),
    note,
  }),
  /** An efficiency that plans in this bath go by from now on; the latest one counts. */
  z
    .strictObject({
      kind: z.literal('efficiency'),
      value: finite.check(z.gte(0.01), z.lte(1)),
      uncertainty: finite.check(z.gte(0.001), z.lte(0.5)),
      /** How many weigh-ins it comes from; 0 for a figure of the maker's own. */
      weighIns: z.int().check(z.gte(0), z.lte(1000)),
      note,
    })
    .check(
      // The low end of the efficiency divides the charge to target, so it may not reach zero.
      z.refine(({ value, uncertainty }) => uncertainty < value, {
        error: 'less than the value',
        path: ['uncertainty'],
      }),
    ),
]);
export type LedgerEntry = z.infer<typeof ledgerEntrySchema>;

/** The newest version of an entry. Versions count from 1, and a saved one never changes. */
export const savedEntrySchema = z.strictObject({
  id: count,
  tankId: identifier,
  bathId: identifier,
  version: count,
  savedWallMs: finite,
  /** Who saved this version. */
  by: z.string(),
  /** When it was done or seen. */
  atWallMs: finite,
  /** Null where it was taken back. */
  entry: z.nullable(ledgerEntrySchema),
});
export type SavedEntry = z.infer<typeof savedEntrySchema>;

const when = z.nullable(finite.check(z.gte(ledgerBounds.earliestWallMs)));

/** `atWallMs` is null for now. */
export const addEntryBodySchema = z.strictObject({ atWallMs: when, entry: ledgerEntrySchema });
/** `version` is the one that was looked at; null takes the entry back, and what it was stays in the record. */
export const changeEntryBodySchema = z.strictObject({
  version: count,
  atWallMs: when,
  entry: z.nullable(ledgerEntrySchema),
});

const by = z.string().check(z.minLength(1), z.maxLength(80), line);
export const ledgerCommandSchemas = [
  z.strictObject({
    kind: z.literal('ledger-add'),
    tankId: identifier,
    bathId: identifier,
    by,
    ...addEntryBodySchema.shape,
  }),
  z.strictObject({
    kind: z.literal('ledger-change'),
    entryId: count,
    by,
    ...changeEntryBodySchema.shape,
  }),
] as const;
export type LedgerCommand = z.infer<(typeof ledgerCommandSchemas)[number]>;

/** How one additive stands. */
export const additionStandSchema = z.strictObject({
  ...additiveFigureSchema.shape,
  /** Null where none is on record; the charge then counts from the first run on. */
  lastWallMs: z.nullable(finite),
  lastAmount: z.nullable(finite),
  /** What the last addition left due, where it was a dose in part; 0 otherwise. */
  leftAmount: finite,
  ampHoursSince: finite,
  dueAmount: finite,
  due: z.boolean(),
  dueAtAmpHours: finite,
});

export const anodeStandSchema = z.strictObject({
  weighedGrams: finite,
  weighedWallMs: finite,
  ampHoursSince: finite,
  leftGrams: rangedSchema,
  /** What the weighing before would have let expect at the latest one; null for the first. */
  expectedGrams: z.nullable(rangedSchema),
});

export const loadMeasureSchema = z.strictObject({
  id: z.enum(['ampsPerLitre', 'dm2PerLitre', 'anodeAmpsPerDm2']),
  value: finite,
  /** By the doubts about current, area and volume. */
  range: rangedSchema,
  /** What is usual; null where it has no lower end. */
  low: z.nullable(finite),
  high: finite,
  verdict: z.enum(['usual', 'low', 'high']),
  source: z.string(),
});

const efficiencySchema = z.strictObject({ value: finite, uncertainty: finite, source: z.string() });

/** One weigh-in that the running efficiency stands on. */
export const efficiencySampleSchema = z.strictObject({
  runId: runIdSchema,
  pieceName: z.string(),
  savedWallMs: finite,
  efficiency: rangedSchema,
});

/** A bath of a tank, as it stands now. */
export const ledgerViewSchema = z.strictObject({
  tankId: identifier,
  /** Null where the settings have no such tank any more. */
  tankName: z.nullable(z.string()),
  bathId: identifier,
  /** Null where no file describes such a bath any more. */
  bathName: z.nullable(z.string()),
  /** Whether the tank holds this bath by the settings of today. */
  current: z.boolean(),
  simulated: z.boolean(),
  volumeLitres: z.nullable(finite),
  anodeAreaDm2: z.nullable(finite),
  /** How far these two can be trusted; null where the tank is gone. */
  doubts: z.nullable(
    z.strictObject({
      volumeLitres: rangedSchema,
      volumeSource: z.string(),
      anodeAreaDm2: rangedSchema,
      anodeAreaSource: z.string(),
    }),
  ),
  runs: z.int(),
  /** All charge that has passed in this bath, A·h. */
  ampHours: finite,
  metal: z.nullable(z.string()),
  additions: z.array(additionStandSchema),
  /** Whether the figures above are the maker's own. */
  ownFigures: z.boolean(),
  carbon: z.nullable(
    z.strictObject({
      everyAmpHoursPerLitre: finite,
      ampHoursPerLitreSince: finite,
      lastWallMs: z.nullable(finite),
      due: z.boolean(),
      source: z.string(),
    }),
  ),
  anodes: z.enum(['soluble', 'insoluble']),
  /** Metal that an A·h takes from the anode, or from the bath where anodes do not dissolve, g. */
  metalGramsPerAmpHour: z.nullable(finite),
  /** Acid that an A·h makes where anodes do not dissolve in a sulfate bath, g. */
  acidGramsPerAmpHour: z.nullable(finite),
  anode: z.nullable(anodeStandSchema),
  /** Of the newest run; null where there is none. */
  load: z.nullable(
    z.strictObject({
      runId: runIdSchema,
      pieceName: z.string(),
      measures: z.array(loadMeasureSchema),
    }),
  ),
  /** Usual temperature, from the bath's file. */
  temperature: z.nullable(
    z.strictObject({ minCelsius: finite, maxCelsius: finite, source: z.string() }),
  ),
  efficiency: z.nullable(
    z.strictObject({
      file: efficiencySchema,
      /** The one that was taken over from weigh-ins; null where plans go by the file. */
      adopted: z.nullable(savedEntrySchema),
      learned: z.nullable(runningFigureSchema),
      samples: z.array(efficiencySampleSchema),
    }),
  ),
  /** The latest done first. */
  entries: z.array(savedEntrySchema),
});
export type LedgerView = z.infer<typeof ledgerViewSchema>;

/** A line of the list of ledgers. */
export const ledgerLineSchema = z.strictObject({
  tankId: identifier,
  tankName: z.nullable(z.string()),
  bathId: identifier,
  bathName: z.nullable(z.string()),
  current: z.boolean(),
  runs: z.int(),
  ampHours: finite,
  /** What is due now, as sentences. */
  due: z.array(z.string()),
});
export type LedgerLine = z.infer<typeof ledgerLineSchema>;

export const symptomSchema = z.strictObject({
  id: z.enum(symptomIds),
  name: z.string(),
  look: z.string(),
  causes: z.array(z.strictObject({ cause: z.string(), remedy: z.string(), source: z.string() })),
});
