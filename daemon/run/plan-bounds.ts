/** How a number out of bounds is refused: by its field, its value and the bound. */

import type { Problem } from '../piece/model.ts';

/** A number with its bounds, and what to do when it is outside them. */
export interface Bounded {
  readonly field: string;
  readonly value: unknown;
  readonly min: number;
  readonly max: number;
  readonly unit: string;
  readonly advice: string;
}

function shownValue(value: unknown): string {
  if (value === undefined) {
    return 'missing';
  }
  return typeof value === 'number' ? String(value) : JSON.stringify(value);
}

/** One problem in the words that all of them share. */
export function problem(field: string, value: unknown, bound: string, advice: string): Problem {
  const shown = shownValue(value);
  return {
    field,
    value: shown,
    bound,
    message: `${field} is ${shown}; it must be ${bound}. ${advice}`,
  };
}

/** The problems of numbers that are missing or out of bounds. */
export function boundProblems(bounded: readonly Bounded[]): readonly Problem[] {
  return bounded
    .filter(({ value, min, max }) => !(typeof value === 'number' && value >= min && value <= max))
    .map(({ field, value, min, max, unit, advice }) =>
      problem(
        field,
        value,
        `a number from ${min} to ${max}${unit === '' ? '' : ` ${unit}`}`,
        advice,
      ),
    );
}
