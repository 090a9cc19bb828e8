/** Rings of wire: the length to cut, and "end at this size" solved backwards through the deposit. */

import { found, refused } from './answer.ts';
import type { Answer, Span } from './answer.ts';

/**
 * Thickness inside a ring's bore as a share of the mean deposit, since the bore lies in the shade.
 * The ends are those of the estimate, not of the possible: deep, narrow bores get less.
 */
export const usualBoreShare: Span = { low: 0.7, value: 0.9, high: 1 };

/** Where `usualBoreShare` comes from, to be shown beside it. */
export const boreShareSource =
  'An estimate without a published source: a computed field round a 17 mm ring of 0.8 mm wire gives ' +
  'its inner side 0.83 of the mean where only the solution resists, and close to 1 in a real bath; ' +
  'wide bands and tubes get less. A ring of yours, measured before and after, gives a better figure.';

/** The bore grows like everything else: the plain rule of twice the thickness. */
export const evenBoreShare: Span = { low: 1, value: 1, high: 1 };

/**
 * A plan counts the metal as even, and so does the likely size after it; how little of it a bore in the
 * shade may get widens the range.
 */
export const planBoreShare: Span = {
  low: usualBoreShare.low,
  value: evenBoreShare.value,
  high: evenBoreShare.high,
};

interface Bound {
  readonly above?: number;
  readonly min?: number;
  readonly max: number;
  readonly unit: string;
}

const lengthBound: Bound = { above: 0, max: 1000, unit: ' mm' };
const depositBound: Bound = { min: 0, max: 10, unit: ' mm' };
const shareBound: Bound = { above: 0, max: 2, unit: '' };

function outOfBound(field: string, value: number, bound: Bound): Answer<never> | null {
  const { above = -Infinity, min = -Infinity, max, unit } = bound;
  if (value > above && value >= min && value <= max) return null;
  const from = bound.above === undefined ? `from ${min}` : `above ${above} and at most`;
  const words = bound.above === undefined ? `${from} to ${max}${unit}` : `${from} ${max}${unit}`;
  return refused(field, String(value), words);
}

function spanOutOfBound(field: string, span: Span, bound: Bound): Answer<never> | null {
  for (const end of ['low', 'value', 'high'] as const) {
    const wrong = outOfBound(`${field}.${end}`, span[end], bound);
    if (wrong !== null) return wrong;
  }
  if (span.low > span.value) {
    return refused(`${field}.low`, String(span.low), `at most ${field}.value, ${span.value}`);
  }
  if (span.high < span.value) {
    return refused(`${field}.high`, String(span.high), `at least ${field}.value, ${span.value}`);
  }
  return null;
}

/**
 * Length, mm, of the straight wire or strip for a ring: pi (inside diameter + thickness across the
 * ring), since the middle line keeps its length. Throws RangeError for sizes of 0 or less. Source:
 * common practice, as worked examples of the bench print it.
 */
export function wireBlankLengthMm(insideDiameterMm: number, radialThicknessMm: number): number {
  for (const [field, value] of Object.entries({ insideDiameterMm, radialThicknessMm })) {
    const wrong = outOfBound(field, value, lengthBound);
    if (wrong !== null && !wrong.ok) throw new RangeError(wrong.problem.message);
  }
  return Math.PI * (insideDiameterMm + radialThicknessMm);
}

/** A ring that is to come out of the bath at a given size. Lengths in mm. */
export interface FinishedRing {
  readonly finishedInsideDiameterMm: number;
  /** Of the bare wire or strip, across the ring. */
  readonly radialThicknessMm: number;
  /** Mean deposit, with its range. */
  readonly deposit: Span;
  /** Share of the deposit that the bore gets; `usualBoreShare` where nothing better is known. */
  readonly boreShare: Span;
}

/** What to make before the bath. Lengths in mm. */
export interface RingStart {
  /** Of the mandrel to wrap round. */
  readonly insideDiameter: Span;
  readonly blankLength: Span;
}

/** Start size and wire length for a ring that is to end at a given inside diameter. */
export function startForFinishedRing(ring: FinishedRing): Answer<RingStart> {
  const { finishedInsideDiameterMm, radialThicknessMm, deposit, boreShare } = ring;
  const wrong =
    outOfBound('finishedInsideDiameterMm', finishedInsideDiameterMm, lengthBound) ??
    outOfBound('radialThicknessMm', radialThicknessMm, lengthBound) ??
    spanOutOfBound('deposit', deposit, depositBound) ??
    spanOutOfBound('boreShare', boreShare, shareBound);
  if (wrong !== null) return wrong;
  const insideDiameter = eachEnd(
    (end) => finishedInsideDiameterMm + 2 * deposit[end] * boreShare[end],
  );
  const blankLength = eachEnd((end) => wireBlankLengthMm(insideDiameter[end], radialThicknessMm));
  return found({ insideDiameter, blankLength });
}

function eachEnd(at: (end: 'low' | 'value' | 'high') => number): Span {
  return { low: at('low'), value: at('value'), high: at('high') };
}

/** A ring that was wrapped to one size and is to end at another. Lengths in mm. */
export interface RingToFill {
  readonly startInsideDiameterMm: number;
  readonly finishedInsideDiameterMm: number;
  readonly boreShare: Span;
}

/** Mean deposit, mm, that brings a ring from one inside diameter down to another. */
export function depositForFinishedRing(ring: RingToFill): Answer<Span> {
  const { startInsideDiameterMm, finishedInsideDiameterMm, boreShare } = ring;
  const wrong =
    outOfBound('startInsideDiameterMm', startInsideDiameterMm, lengthBound) ??
    outOfBound('finishedInsideDiameterMm', finishedInsideDiameterMm, lengthBound) ??
    spanOutOfBound('boreShare', boreShare, shareBound);
  if (wrong !== null) return wrong;
  if (finishedInsideDiameterMm > startInsideDiameterMm) {
    return refused(
      'finishedInsideDiameterMm',
      String(finishedInsideDiameterMm),
      `at most startInsideDiameterMm, ${startInsideDiameterMm} mm`,
      'A deposit makes the inside of a ring smaller, never larger: wrap it wider.',
    );
  }
  const inside = (startInsideDiameterMm - finishedInsideDiameterMm) / 2;
  // The better the bore is reached, the less it takes.
  const { low, value, high } = boreShare;
  return found({ low: inside / high, value: inside / value, high: inside / low });
}

/** Inside diameter, mm, after a deposit: what is left of the bore, refused where it closes. */
export function finishedInsideDiameter(
  startInsideDiameterMm: number,
  deposit: Span,
  boreShare: Span,
): Answer<Span> {
  const wrong =
    outOfBound('startInsideDiameterMm', startInsideDiameterMm, lengthBound) ??
    spanOutOfBound('deposit', deposit, depositBound) ??
    spanOutOfBound('boreShare', boreShare, shareBound);
  if (wrong !== null) return wrong;
  const at = (end: 'low' | 'value' | 'high') =>
    startInsideDiameterMm - 2 * deposit[end] * boreShare[end];
  if (at('high') <= 0) {
    const closesAt = (startInsideDiameterMm / (2 * boreShare.high)).toFixed(2);
    const bound = `below ${closesAt} mm, at which the bore closes`;
    return refused('deposit.high', String(deposit.high), bound);
  }
  return found({ low: at('high'), value: at('value'), high: at('low') });
}

/** Deposit, mm, that brings a round wire from one diameter to a thicker one. */
export function depositForFinishedWire(wire: {
  readonly startDiameterMm: number;
  readonly finishedDiameterMm: number;
}): Answer<number> {
  const { startDiameterMm, finishedDiameterMm } = wire;
  const wrong =
    outOfBound('startDiameterMm', startDiameterMm, lengthBound) ??
    outOfBound('finishedDiameterMm', finishedDiameterMm, lengthBound);
  if (wrong !== null) return wrong;
  if (finishedDiameterMm < startDiameterMm) {
    return refused(
      'finishedDiameterMm',
      String(finishedDiameterMm),
      `at least startDiameterMm, ${startDiameterMm} mm`,
      'A deposit makes a wire thicker, never thinner: start from a thinner wire.',
    );
  }
  return found((finishedDiameterMm - startDiameterMm) / 2);
}
