/** Random sound parts and pieces for property tests, drawn inside the bounds of their fields. */

import * as fc from 'fast-check';
import type {
  Outline,
  PartDefinition,
  PartDescription,
  PartField,
  PartShape,
  PieceDescription,
} from '../../daemon/piece/model.ts';
import { partDefinition, partDefinitions } from '../../daemon/piece/parts.ts';

/** Every kind of part. */
export const kinds = partDefinitions.map((definition) => definition.kind);

/** The definition of a kind that is known to exist. */
export function definitionOf(kind: string): PartDefinition {
  const definition = partDefinition(kind);
  if (definition === undefined) {
    throw new Error(`no part of kind ${kind}`);
  }
  return definition;
}

/** A rectangle of 30 x 20 mm as an outline. */
export const plainOutline: Outline = {
  points: [
    { xMm: 0, yMm: 0 },
    { xMm: 30, yMm: 0 },
    { xMm: 30, yMm: 20 },
    { xMm: 0, yMm: 20 },
  ],
};

/** A part of that kind as its form first shows it. */
export function typicalShape(kind: string): PartShape {
  const sizes = Object.fromEntries(
    definitionOf(kind).fields.map(({ name, typical }) => [name, typical]),
  );
  return kind === 'outline' ? { sizes, outline: plainOutline } : { sizes };
}

function anySize({ min, max, unit, choices }: PartField): fc.Arbitrary<number> {
  if (choices !== undefined) {
    return fc.constantFrom(...choices.map(({ value }) => value));
  }
  if (unit === 'count') {
    return fc.integer({ min, max });
  }
  // Logarithmic, so that small sizes come up as often as large ones; clamped against rounding.
  const least = Math.max(min, 0.05);
  const exponent = fc.double({ min: Math.log(least), max: Math.log(max), noNaN: true });
  const large = exponent.map((value) => Math.min(max, Math.max(least, Math.exp(value))));
  return min === 0 ? fc.oneof(fc.constant(0), large) : large;
}

// The numbers of a mesh belong together: here they are those of a box read from a file.
const anyMeshSizes = fc
  .tuple(...[1, 2, 3].map(() => fc.double({ min: 0.5, max: 100, noNaN: true })))
  .map(([a = 1, b = 1, c = 1]) => ({
    areaMm2: 2 * (a * b + b * c + c * a),
    volumeMm3: a * b * c,
    meanCurvatureMm: Math.PI * (a + b + c),
    gaussThird: (4 * Math.PI) / 3,
    lengthMm: a,
    widthMm: b,
    heightMm: c,
  }));

// Stars with shallow notches, so that thick metal does not swallow them.
const anyOutline: fc.Arbitrary<Outline> = fc
  .array(fc.double({ min: 0.8, max: 1, noNaN: true }), { minLength: 8, maxLength: 40 })
  .chain((radii) =>
    fc.double({ min: 20, max: 500, noNaN: true }).map((radius) => ({
      points: radii.map((share, index) => ({
        xMm: radius * share * Math.cos((2 * Math.PI * index) / radii.length),
        yMm: radius * share * Math.sin((2 * Math.PI * index) / radii.length),
      })),
    })),
  );

/** Sizes inside the bounds of each field, and possible together; an outline where one is needed. */
export function anyShape(kind: string): fc.Arbitrary<PartShape> {
  const definition = definitionOf(kind);
  const sizes: fc.Arbitrary<PartShape['sizes']> =
    kind === 'mesh'
      ? anyMeshSizes
      : fc.record(
          Object.fromEntries(definition.fields.map((field) => [field.name, anySize(field)])),
        );
  const shape: fc.Arbitrary<PartShape> =
    kind === 'outline' ? fc.record({ sizes, outline: anyOutline }) : fc.record({ sizes });
  return shape.filter((candidate) => definition.problems(candidate).length === 0);
}

/** A sound part of that kind. */
export function anyPart(kind: string): fc.Arbitrary<PartDescription> {
  return fc
    .record({
      kind: fc.constant(kind),
      label: fc.constant(kind),
      count: fc.integer({ min: 1, max: 10_000 }),
      platedFraction: fc.double({ min: 0.01, max: 1, noNaN: true }),
      shape: anyShape(kind),
    })
    .map(({ shape, ...part }) => ({ ...part, ...shape }));
}

/** A piece of the given parts. */
export function pieceOf(parts: readonly PartDescription[]): PieceDescription {
  return { name: 'Trial', parts, areaUncertainty: 0.1 };
}

/** A sound piece of one to six parts, at least one of which is not a hanger. */
export const anyPiece = fc
  .array(fc.oneof(...kinds.map(anyPart)), { minLength: 1, maxLength: 6 })
  .filter((parts) => parts.some((part) => part.kind !== 'hanger'))
  .map(pieceOf);

/** One whole part of the given sizes. */
export function partOf(
  kind: string,
  sizes: Readonly<Record<string, number>>,
  change: Partial<PartDescription> = {},
): PartDescription {
  return { kind, label: kind, count: 1, platedFraction: 1, sizes, ...change };
}
