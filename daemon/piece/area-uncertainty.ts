/** The range of a piece's area, from the ranges usual for its parts. */

import type { PieceDescription } from './model.ts';
import { definitionOf, partGrowth } from './part-growth.ts';

/** What one part brings to the range of the whole. */
export interface PartUncertainty {
  readonly partIndex: number;
  /** Plated area of the part, mm2. */
  readonly areaMm2: number;
  /** Half width usual for its kind, as a share of its own area. */
  readonly share: number;
  /** Half width, mm2: what it adds to the range of the whole, before others are taken in. */
  readonly halfWidthMm2: number;
}

/** Every part with its own half width, the widest in mm2 first. */
export function partUncertainties(piece: PieceDescription): readonly PartUncertainty[] {
  return piece.parts
    .map((part, partIndex) => {
      const { areaMm2 } = partGrowth(part, partIndex);
      const share = definitionOf(part, partIndex).areaUncertainty;
      return { partIndex, areaMm2, share, halfWidthMm2: share * areaMm2 };
    })
    .toSorted((first, second) => second.halfWidthMm2 - first.halfWidthMm2);
}

/**
 * Half width of the range in which the area of the whole piece lies, as a share of it, 0 to 1. Parts
 * are measured one by one, so their errors are taken as independent and their half widths add as
 * squares; parts that are alike share one measurement and add in full. What the maker entered is
 * the least it can be: they may know of more, such as a rough surface, but nobody measures better by
 * having more parts. An area factor from weigh-ins has measured the whole at once, so its own range
 * counts alone. Expects a piece without problems.
 */
export function pieceAreaUncertainty(piece: PieceDescription): number {
  if (piece.areaFactor !== undefined) return piece.areaUncertainty;
  const parts = partUncertainties(piece);
  const areaMm2 = parts.reduce((sum, part) => sum + part.areaMm2, 0);
  const halfWidthMm2 = Math.hypot(...parts.map((part) => part.halfWidthMm2));
  const combined = areaMm2 > 0 ? halfWidthMm2 / areaMm2 : 0;
  return Math.max(piece.areaUncertainty, combined);
}
