/** Keeping a bath alive, in figures: additions due, anode metal left, dissolved metal, loading. */

import { requireNonNegative, requirePositive } from './checks.ts';
import { coulombsPerAmpHour, faradayCoulombsPerMol } from './constants.ts';
import { massGramsFromCharge } from './faraday.ts';
import type { Ion } from './faraday.ts';
import type { Bath, Source } from './model.ts';

/** What is added to a bath by the charge that has passed; the supplier's sheet wins. */
export interface AdditiveFigure {
  readonly name: string;
  readonly unit: 'mL' | 'g';
  /** Amount per A·h, above 0. */
  readonly perAmpHour: number;
  /** Smallest amount that can be measured out; it is due once that much is owed. */
  readonly leastAmount: number;
  readonly source: Source;
}

/** How an addition stands. */
export interface AdditionDue {
  readonly amount: number;
  readonly due: boolean;
  /** Charge since the last addition at which it is due, A·h. */
  readonly dueAtAmpHours: number;
}

/** What is owed of an additive after a charge in A·h since it was last added. */
export function additionDue(figure: AdditiveFigure, ampHoursSince: number): AdditionDue {
  requireNonNegative('ampHoursSince', ampHoursSince);
  requirePositive('perAmpHour', figure.perAmpHour);
  const amount = figure.perAmpHour * ampHoursSince;
  const dueAtAmpHours = figure.leastAmount / figure.perAmpHour;
  return { amount, due: ampHoursSince > 0 && amount >= figure.leastAmount, dueAtAmpHours };
}

/** Grams with the bounds between which they lie. */
export interface GramsRange {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/**
 * Soluble anodes lose what the piece gains and up to 2 % more: sludge, and a little that dissolves by
 * itself (from memory; 100 to 102 % of the deposit is the usual finding).
 */
const mostAnodeShare = 1.02;

/**
 * Metal left of anodes that weighed so much before a charge in A·h passed, g; never below 0.
 * `meterShare` is the half width of the ammeter's range as a share.
 */
export function anodeLeftGrams(
  ion: Ion,
  weighedGrams: number,
  ampHoursSince: number,
  meterShare: number,
): GramsRange {
  requireNonNegative('weighedGrams', weighedGrams);
  const loss = massGramsFromCharge(ion, ampHoursSince, 1);
  const left = (share: number): number => Math.max(0, weighedGrams - loss * share);
  return {
    value: left(1),
    low: left(mostAnodeShare * (1 + meterShare)),
    high: left(1 - meterShare),
  };
}

/** g/mol of H2SO4, from the CIAAW weights of 2021: 2 x 1.008 + 32.06 + 4 x 15.999. */
const sulfuricAcidGramsPerMol = 98.072;

/** What an A·h does to a sulfate bath over an anode that does not dissolve: metal out, acid in, g. */
export function insolublePerAmpHour(ion: Ion): {
  readonly metalGrams: number;
  readonly acidGrams: number;
} {
  const acidGrams = (sulfuricAcidGramsPerMol * coulombsPerAmpHour) / (2 * faradayCoulombsPerMol);
  return { metalGrams: massGramsFromCharge(ion, 1, 1), acidGrams };
}

/** One measure of how hard a bath is worked, against what is usual. */
export interface LoadMeasure {
  readonly id: 'ampsPerLitre' | 'dm2PerLitre' | 'anodeAmpsPerDm2';
  readonly value: number;
  /** Usual range; null where it has no lower end. */
  readonly low: number | null;
  readonly high: number;
  readonly verdict: 'usual' | 'low' | 'high';
  readonly source: Source;
}

/** What a run asks of its bath at its largest: current in A, plated area in dm2. */
export interface Load {
  readonly amps: number;
  readonly areaDm2: number;
  readonly volumeLitres: number;
  readonly anodeAreaDm2: number;
}

const anodeWindow = {
  low: 0.3,
  high: 2.5,
  source:
    'from memory: 0.5 to 2 A/dm2 is usual; above 2.5 to 3 the anode loses its film and the deposit turns rough, below 0.3 the film grows thick. What happens: Metal Finishing Guide Book 2011-12 p. 206',
};

function measure(
  id: LoadMeasure['id'],
  value: number,
  { low, high, source }: { low: number | null; high: number; source: Source },
): LoadMeasure {
  const verdict = value > high ? 'high' : low !== null && value < low ? 'low' : 'usual';
  return { id, value, low, high, verdict, source };
}

/** Current and area per litre, and the anode's own density, each against its usual range. */
export function loadMeasures(load: Load, bath: Bath): readonly LoadMeasure[] {
  const { amps, areaDm2, volumeLitres, anodeAreaDm2 } = load;
  const { maxAmpsPerLitre, source } = bath.loading;
  const areaBound = maxAmpsPerLitre / bath.window.typicalAmpsPerDm2;
  return [
    measure('ampsPerLitre', amps / volumeLitres, { low: null, high: maxAmpsPerLitre, source }),
    measure('dm2PerLitre', areaDm2 / volumeLitres, {
      low: null,
      high: areaBound,
      source: `the limit per litre at this bath's typical density; ${source}`,
    }),
    measure('anodeAmpsPerDm2', amps / anodeAreaDm2, anodeWindow),
  ];
}

/** Figures to begin with, until the maker has entered those of the supplier's sheet. */
export function usualAdditives(bath: Bath): readonly AdditiveFigure[] {
  if (bath.metal !== 'copper-II') return [];
  return [
    {
      name: 'Brightener',
      unit: 'mL',
      perAmpHour: 0.2,
      leastAmount: 0.5,
      source:
        "from memory: of the order of 0.05 to 0.3 mL per A·h for each component; the supplier's sheet wins",
    },
  ];
}

/** Charge per litre between two carbon treatments, A·h/L, and where the figure is from. */
export const usualCarbonAmpHoursPerLitre = 100;
/** Where that figure is from. */
export const carbonSource: Source =
  'from memory, low confidence: every 50 to 150 A·h per litre, or 3 to 12 months; a published trouble-shooting table asks for it on symptoms (Metal Finishing Guide Book 2013 p. 286)';
