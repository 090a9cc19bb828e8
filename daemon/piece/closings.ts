/** What closes on a piece and in which order, and its sizes before and after. */

import { closesAtMm, dimensionMmAt } from './geometry/dimensions.ts';
import type { Dimension, PieceDescription } from './model.ts';
import { definitionOf } from './part-growth.ts';

/** One bore or gap that closes. */
export interface Closing {
  readonly partIndex: number;
  /** What the maker calls the part. */
  readonly partLabel: string;
  /** Name and words of the size that closes, as in the part's dimensions. */
  readonly name: string;
  readonly label: string;
  /** How wide it is now, mm. */
  readonly valueMm: number;
  /** Thickness of metal at which it has shut, mm. */
  readonly closesAtMm: number;
}

/** Everything on the piece that closes, the first to close first; of equals, the earlier part. */
export function pieceClosings(piece: PieceDescription): readonly Closing[] {
  const closings = piece.parts.flatMap((part, partIndex) =>
    definitionOf(part, partIndex)
      .dimensions(part)
      .flatMap((dimension) => {
        const { name, label, valueMm } = dimension;
        const closes = closesAtMm(dimension);
        return closes === null
          ? []
          : [{ partIndex, partLabel: part.label, name, label, valueMm, closesAtMm: closes }];
      }),
  );
  return closings.toSorted((first, second) => first.closesAtMm - second.closesAtMm);
}

/** A size before and after. */
export interface GrownDimension extends Dimension {
  /** Its size under the metal, mm; 0 where it has shut. */
  readonly grownMm: number;
  readonly shut: boolean;
}

/** The sizes of one part before and after. */
export interface PartDimensions {
  readonly partIndex: number;
  readonly partLabel: string;
  readonly dimensions: readonly GrownDimension[];
}

/** The sizes of every part under `thicknessMm` of metal, mm; parts without sizes are left out. */
export function pieceDimensionsAt(
  piece: PieceDescription,
  thicknessMm: number,
): readonly PartDimensions[] {
  return piece.parts
    .map((part, partIndex) => ({
      partIndex,
      partLabel: part.label,
      dimensions: definitionOf(part, partIndex)
        .dimensions(part)
        .map((dimension) => {
          const closes = closesAtMm(dimension);
          const shut = closes !== null && thicknessMm >= closes;
          return { ...dimension, grownMm: dimensionMmAt(dimension, thicknessMm), shut };
        }),
    }))
    .filter(({ dimensions }) => dimensions.length > 0);
}
