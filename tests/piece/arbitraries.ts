/** Random sound parts and pieces for property tests, drawn inside the bounds of their fields. */

import * as fc from 'fast-check';
import type {
  PartDefinition,
  PartDescription,
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

/** Sizes inside the bounds of each field, and possible together. */
export function anySizes(kind: string): fc.Arbitrary<Readonly<Record<string, number>>> {
  const definition = definitionOf(kind);
  const fields = definition.fields.map(({ name, min, max }) => {
    // Logarithmic, so that small sizes come up as often as large ones; clamped against rounding.
    const exponent = fc.double({ min: Math.log(min), max: Math.log(max), noNaN: true });
    return [name, exponent.map((value) => Math.min(max, Math.max(min, Math.exp(value))))] as const;
  });
  return fc
    .record(Object.fromEntries(fields))
    .filter((sizes) => definition.problems({ sizes }).length === 0);
}

/** A sound part of that kind. */
export function anyPart(kind: string): fc.Arbitrary<PartDescription> {
  return fc.record({
    kind: fc.constant(kind),
    label: fc.constant(kind),
    count: fc.integer({ min: 1, max: 10_000 }),
    platedFraction: fc.double({ min: 0.01, max: 1, noNaN: true }),
    sizes: anySizes(kind),
  });
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
