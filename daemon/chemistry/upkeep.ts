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

/**
 * What is owed of an additive after a charge in A·h since it was last added. `leftAmount` is what was
 * owed then and not given: a dose in part leaves the rest due.
 */
export function additionDue(
  figure: AdditiveFigure,
  ampHoursSince: number,
  leftAmount = 0,
): AdditionDue {
  requireNonNegative('ampHoursSince', ampHoursSince);
  requireNonNegative('leftAmount', leftAmount);
  requirePositive('perAmpHour', figure.perAmpHour);
  const amount = leftAmount + figure.perAmpHour * ampHoursSince;
  const dueAtAmpHours = Math.max(0, figure.leastAmount - leftAmount) / figure.perAmpHour;
  return { amount, due: amount >= figure.leastAmount, dueAtAmpHours };
}

/** A figure with the bounds between which it lies. */
export interface FigureRange {
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
): FigureRange {
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
  /** Between what it lies, by the doubts about current, area and volume. */
  readonly range: FigureRange;
  /** Usual range; null where it has no lower end. */
  readonly low: number | null;
  readonly high: number;
  readonly verdict: 'usual' | 'low' | 'high';
  readonly source: Source;
}

/** What a run asks of its bath at its largest: current in A, plated area in dm2. */
export interface Load {
  readonly amps: number;
  readonly areaDm2: FigureRange;
  readonly volumeLitres: number;
  readonly anodeAreaDm2: number;
  /** Half width of the ammeter's range, as a share. */
  readonly meterShare: number;
}

/** Half widths of what is entered for a tank, as shares, and where they are from. */
export const tankDoubts: Readonly<
  Record<'volume' | 'anodeArea', { readonly share: number; readonly source: Source }>
> = {
  volume: {
    share: 0.05,
    source: 'from memory: the marks of a beaker are good to 5 %; what evaporates comes on top',
  },
  anodeArea: {
    share: 0.1,
    source: 'common practice, no source: measured with a ruler, bags and hooks not counted',
  },
};

/** A figure with a half width on both sides, as a share of it. */
export function withShare(value: number, share: number): FigureRange {
  return { value, low: value * (1 - share), high: value * (1 + share) };
}

/** One figure over another, its range from both; their doubts are independent. */
function quotient(above: FigureRange, below: FigureRange): FigureRange {
  const value = above.value / below.value;
  const share = (part: number, whole: number): number => (whole > 0 ? part / whole : 0);
  const half = share(below.high - below.value, below.value);
  return {
    value,
    low: value * (1 - Math.hypot(share(above.value - above.low, above.value), half)),
    high: value * (1 + Math.hypot(share(above.high - above.value, above.value), half)),
  };
}

const anodeWindow = {
  low: 0.3,
  high: 2.5,
  source:
    'from memory: 0.5 to 2 A/dm2 is usual; above 2.5 to 3 the anode loses its film and the deposit turns rough, below 0.3 the film grows thick. What happens: Metal Finishing Guide Book 2011-12 p. 206',
};

function measure(
  id: LoadMeasure['id'],
  range: FigureRange,
  { low, high, source }: { low: number | null; high: number; source: Source },
): LoadMeasure {
  const { value } = range;
  const verdict = value > high ? 'high' : low !== null && value < low ? 'low' : 'usual';
  return { id, value, range, low, high, verdict, source };
}

/** Current and area per litre, and the anode's own density, each against its usual range. */
export function loadMeasures(load: Load, bath: Bath): readonly LoadMeasure[] {
  const { areaDm2 } = load;
  const amps = withShare(load.amps, load.meterShare);
  const litres = withShare(load.volumeLitres, tankDoubts.volume.share);
  const anodeDm2 = withShare(load.anodeAreaDm2, tankDoubts.anodeArea.share);
  const { maxAmpsPerLitre, source } = bath.loading;
  const areaBound = maxAmpsPerLitre / bath.window.typicalAmpsPerDm2;
  return [
    measure('ampsPerLitre', quotient(amps, litres), { low: null, high: maxAmpsPerLitre, source }),
    measure('dm2PerLitre', quotient(areaDm2, litres), {
      low: null,
      high: areaBound,
      source: `the limit per litre at this bath's typical density; ${source}`,
    }),
    measure('anodeAmpsPerDm2', quotient(amps, anodeDm2), anodeWindow),
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
