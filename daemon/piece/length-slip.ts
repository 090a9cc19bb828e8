/** Suspects a length that was probably entered in another unit; a hint, never an error. */

import type { PartField } from './model.ts';

/** What a length probably was, in mm, and one sentence that says so. */
export interface LengthSlip {
  readonly meantMm: number;
  readonly message: string;
}

/**
 * Common practice, no source: a size so many times off what is usual for the part is looked at, and a
 * meaning within four times of it is worth naming.
 */
export const oddFactor = 10;
const usualFactor = 4;

/** What a number in a millimetre field may have been meant as; the likeliest slip first. */
const meanings: readonly {
  readonly millimetres: number;
  readonly words: (value: string, meant: string) => string;
}[] = [
  { millimetres: 25.4, words: (value, meant) => `${value} could be inches (${meant} mm)` },
  {
    millimetres: 1 / 25.4,
    words: (value, meant) => `${value} could have been turned from inches twice (${meant} mm)`,
  },
  { millimetres: 10, words: (value, meant) => `${value} could be centimetres (${meant} mm)` },
  {
    millimetres: 0.0254,
    words: (value, meant) => `${value} could be thousandths of an inch (${meant} mm)`,
  },
  { millimetres: 0.001, words: (value, meant) => `${value} could be micrometres (${meant} mm)` },
];

/** How many times the value is off what is usual, either way. */
function offBy(value: number, typical: number): number {
  return value > typical ? value / typical : typical / value;
}

/**
 * A suspicion about a length in mm that is far from what is usual for the field but near it in
 * another unit; null where there is none, for a value that is not above 0, and for fields that are
 * no lengths.
 */
export function lengthSlip(
  field: PartField,
  value: number,
  factor: number = oddFactor,
): LengthSlip | null {
  const { unit, typical, min, max } = field;
  if (unit !== 'mm' || !(value > 0) || !(typical > 0) || offBy(value, typical) <= factor) {
    return null;
  }
  const meant = meanings
    .map((meaning) => ({ ...meaning, meantMm: value * meaning.millimetres }))
    .filter(({ meantMm }) => meantMm >= min && meantMm <= max)
    .find(({ meantMm }) => offBy(meantMm, typical) <= usualFactor);
  if (meant === undefined) {
    return null;
  }
  const meantMm = Number(meant.meantMm.toPrecision(4));
  return { meantMm, message: `${meant.words(String(value), String(meantMm))}.` };
}
