/** Reads the sizes of a part and builds the fields that all parts word alike. */

import type { PartField, PartShape, Problem } from '../model.ts';

/** One size by name; throws RangeError where it is missing or not a finite number. */
export function sizeOf({ sizes }: PartShape, name: string): number {
  const value = sizes[name];
  if (value === undefined || !Number.isFinite(value)) {
    throw new RangeError(`sizes.${name} is ${value}; it must be a finite number`);
  }
  return value;
}

/** A length as a field, mm; a name that ends in `Mm`. */
export function lengthField(
  name: string,
  label: string,
  [min, typical, max]: readonly [min: number, typical: number, max: number],
  help: string,
): PartField {
  return { name, label, unit: 'mm', min, max, typical, help };
}

/** Diameter of round wire, mm: the same bounds wherever wire is a size. */
export const wireDiameterField: PartField = lengthField(
  'wireDiameterMm',
  'Wire diameter',
  [0.05, 0.8, 20],
  'Measure across the wire with a caliper, paint included, or take it from its gauge.',
);

/** Thickness of anything flat, mm. */
export const sheetThicknessField: PartField = lengthField(
  'thicknessMm',
  'Thickness',
  [0.005, 0.5, 100],
  'Measure with a caliper or micrometer, paint included; a leaf is 0.1 to 0.5 mm.',
);

/** A problem between two sizes; the field is the name of the size to correct. */
export function sizeProblem(name: string, value: number, bound: string, advice: string): Problem {
  return {
    field: name,
    value: String(value),
    bound,
    message: `${name} is ${value}; it must be ${bound}. ${advice}`,
  };
}
