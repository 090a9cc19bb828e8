/** Suspects lengths of a piece that were probably entered in another unit; a hint, never an error. */

import { lengthSlip, oddFactor, type LengthSlip } from './length-slip.ts';
import type { PartField, PieceDescription } from './model.ts';
import { definitionOf } from './part-growth.ts';

/** Where the other sizes of the part speak against it as well, less than that is odd enough. */
const oddBesideOthersFactor = 7;

/** A suspicion about one length of a piece, by field path. */
export interface PieceSlip extends LengthSlip {
  readonly field: string;
  readonly value: number;
}

/**
 * Least of the longest size of a part over the shortest of the others. Wire is no shorter than it is
 * thick a few times over, and a ring is bent round no less than two of its wires: common practice, no
 * source.
 */
const leastSlenderness = 4;
const leastRingOverWire = 2.5;
/** And no ring is so wide for its wire. */
const mostRingOverWire = 200;

/** Only a part that is long, or wide, for its thickness by nature can be too stubby for its kind. */
const slenderByNature = 10;

interface Length {
  readonly field: PartField;
  readonly value: number;
}

/** Whether the size that is the longest of its part by nature is out of all proportion to the shortest. */
function misshapen({ field, value }: Length, lengths: readonly Length[]): boolean {
  const others = lengths.filter((one) => one.field !== field && one.field.typical > 0);
  const longest = others.every((one) => one.field.typical <= field.typical);
  const thinnest = others.toSorted((a, b) => a.field.typical - b.field.typical)[0];
  if (!longest || thinnest === undefined) return false;
  if (field.typical < slenderByNature * thinnest.field.typical) return false;
  if (!/inside/i.test(field.name)) return value < leastSlenderness * thinnest.value;
  const ratio = value / thinnest.value;
  return ratio < leastRingOverWire || ratio > mostRingOverWire;
}

/** A thickness that is thicker than the part is long, such as wire entered in micrometres. */
function bulky({ field, value }: Length, lengths: readonly Length[]): boolean {
  const others = lengths.filter((one) => one.field !== field && one.field.typical > 0);
  const longest = others.toSorted((a, b) => b.field.typical - a.field.typical)[0];
  if (longest === undefined || value <= field.typical) return false;
  return longest.field.typical > field.typical && value > longest.value;
}

/**
 * The suspicious lengths of one part. Where most of its lengths are odd, or all nearly so, the unit of
 * the whole part is; one odd length alone is asked about where the others of the part speak against
 * it too, since short wires, small loops and narrow strips are nothing odd.
 */
function partSlips(kind: string, lengths: readonly Length[]): readonly (Length & LengthSlip)[] {
  const slipsBy = (factor: number) =>
    lengths.flatMap((length) => {
      const slip = lengthSlip(length.field, length.value, factor);
      return slip === null ? [] : [{ ...length, ...slip }];
    });
  const odd = slipsBy(oddFactor);
  if (odd.length > lengths.length / 2) return odd;
  const lesser = slipsBy(oddBesideOthersFactor);
  if (odd.length > 0 && lesser.length === lengths.length) return lesser;
  // How little of a hanger is below the surface says nothing about its unit.
  if (kind === 'hanger') return [];
  return lesser.filter((slip) => misshapen(slip, lengths) || bulky(slip, lengths));
}

/** Every length to ask about of a piece whose kinds of part all exist. */
export function pieceLengthSlips(piece: PieceDescription): readonly PieceSlip[] {
  return piece.parts.flatMap((part, index) => {
    // A mesh is measured from its file, whose unit was asked for.
    if (part.mesh !== undefined) return [];
    const lengths = definitionOf(part, index).fields.flatMap((field): Length[] => {
      const value = part.sizes[field.name];
      return value === undefined || field.unit !== 'mm' ? [] : [{ field, value }];
    });
    return partSlips(part.kind, lengths).map(({ field, value, meantMm, message }) => ({
      field: `parts[${index}].sizes.${field.name}`,
      value,
      meantMm,
      message,
    }));
  });
}
