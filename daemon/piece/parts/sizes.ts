/** Reads the sizes of a part and builds the fields that all parts word alike. */

import type { PartField, Problem } from '../model.ts';

/** The sizes of a part, keyed by field name. */
export type Sizes = Readonly<Record<string, number>>;

/** One size by name; throws RangeError where it is missing or not a finite number. */
export function sizeOf(sizes: Sizes, name: string): number {
  const value = sizes[name];
  if (value === undefined || !Number.isFinite(value)) {
    throw new RangeError(`sizes.${name} is ${value}; it must be a finite number`);
  }
  return value;
}

/** Diameter of round wire, mm: the same bounds wherever wire is a size. */
export const wireDiameterField: PartField = {
  name: 'wireDiameterMm',
  label: 'Wire diameter',
  unit: 'mm',
  min: 0.05,
  max: 20,
  typical: 0.8,
  help: 'Measure across the wire with a caliper, paint included, or take it from its gauge.',
};

/** A problem between two sizes; the field is the name of the size to correct. */
export function sizeProblem(name: string, value: number, bound: string, advice: string): Problem {
  return {
    field: name,
    value: String(value),
    bound,
    message: `${name} is ${value}; it must be ${bound}. ${advice}`,
  };
}
