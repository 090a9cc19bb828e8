/** The openings of a piece that shut as metal grows: bores that close and links that fuse. */

import { closesAtMm } from '../piece/geometry/dimensions.ts';
import type { PieceDescription } from '../piece/model.ts';
import { definitionOf } from '../piece/part-growth.ts';

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
  const all = piece.parts.flatMap((part, partIndex) =>
    definitionOf(part, partIndex)
      .dimensions(part)
      .flatMap((dimension) => {
        const thicknessMm = closesAtMm(dimension);
        if (thicknessMm === null) return [];
        const partName = partNameOf(piece, partIndex);
        return [{ partIndex, partName, label: dimension.label, closesAtMm: thicknessMm }];
      }),
  );
  return all.toSorted((first, second) => first.closesAtMm - second.closesAtMm);
}

/** Whether a request accepts by name that this opening shuts. */
export function isAccepted({ partName }: Closure, accepted: readonly string[] = []): boolean {
  const wanted = partName.toLowerCase();
  return accepted.some((name) => name.trim().toLowerCase() === wanted);
}
