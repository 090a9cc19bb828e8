/** The openings of a piece that shut as metal grows: bores that close and links that fuse. */

import { pieceClosings } from '../piece/closings.ts';
import type { PieceDescription } from '../piece/model.ts';
import { numberNameOf, partNameOf, sameName } from '../piece/part-names.ts';

/** One opening and the mean thickness, mm, at which it shuts. */
export interface Closure {
  readonly partIndex: number;
  /** By which it can be accepted: the part's label, or `part 2` where it has none. */
  readonly partName: string;
  /** What shuts, in words: the label of the dimension. */
  readonly label: string;
  readonly closesAtMm: number;
}

/** Every opening of a piece without problems, the first to shut first. */
export function closuresOf(piece: PieceDescription): readonly Closure[] {
  return pieceClosings(piece).map(({ partIndex, label, closesAtMm }) => ({
    partIndex,
    partName: partNameOf(piece, partIndex),
    label,
    closesAtMm,
  }));
}

/** The parts whose openings a name accepts: those of that label, or else the one of that number. */
export function partsNamed(closures: readonly Closure[], name: string): readonly number[] {
  const indexes = (fits: (closure: Closure) => boolean) => [
    ...new Set(closures.filter(fits).map(({ partIndex }) => partIndex)),
  ];
  const labelled = indexes(({ partName }) => sameName(partName, name));
  return labelled.length > 0
    ? labelled
    : indexes(({ partIndex }) => sameName(numberNameOf(partIndex), name));
}

/** The name that accepts the openings of this part and no other: its label, or else its number. */
export function acceptNameOf(closures: readonly Closure[], closure: Closure): string {
  const { partName, partIndex } = closure;
  return partsNamed(closures, partName).length === 1 ? partName : numberNameOf(partIndex);
}

/** Whether names accept that an opening, one of all the closures of its piece, shuts. */
export function isAccepted(
  { partIndex }: Closure,
  closures: readonly Closure[],
  names: readonly string[] = [],
): boolean {
  return names.some((name) => partsNamed(closures, name).includes(partIndex));
}

/** An opening with the name by which a request accepts that it shuts. */
export interface NamedClosure extends Closure {
  readonly acceptName: string;
}

/** Every opening of a piece without problems under its name, the first to shut first. */
export function namedClosures(piece: PieceDescription): readonly NamedClosure[] {
  const closures = closuresOf(piece);
  return closures.map((one) => ({ ...one, acceptName: acceptNameOf(closures, one) }));
}
