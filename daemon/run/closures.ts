/** The openings of a piece that shut as metal grows: bores that close and links that fuse. */

import { pieceClosings } from '../piece/closings.ts';
import type { PieceDescription } from '../piece/model.ts';

/** One opening and the mean thickness, mm, at which it shuts. */
export interface Closure {
  readonly partIndex: number;
  /** By which it can be accepted: the part's label, or `part 2` where it has none. */
  readonly partName: string;
  /** What shuts, in words: the label of the dimension. */
  readonly label: string;
  readonly closesAtMm: number;
}

/** The name of a part in a request: its label, or its place in the list counted from 1. */
export function partNameOf({ parts }: PieceDescription, index: number): string {
  const label = parts[index]?.label.trim() ?? '';
  return label === '' ? `part ${index + 1}` : label;
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

/** Whether a request accepts by name that this opening shuts. */
export function isAccepted({ partName }: Closure, accepted: readonly string[] = []): boolean {
  const wanted = partName.toLowerCase();
  return accepted.some((name) => name.trim().toLowerCase() === wanted);
}
