/** What a piece comes to while it is being described: areas, drawings, sizes, and what is wrong with it. */

import { pieceAreaUncertainty } from '../piece/area-uncertainty.ts';
import type {
  CrossSection,
  Dimension,
  Drawing,
  PartDescription,
  PieceDescription,
  Problem,
} from '../piece/model.ts';
import { definitionOf, partGrowth } from '../piece/part-growth.ts';
import { partProblems } from '../piece/part-problems.ts';
import { decidingPart, hangerShare, pieceGrowth, pieceProblems } from '../piece/piece.ts';
import { sectionOf } from '../piece/section.ts';
import { namedClosures, type NamedClosure } from './closures.ts';

/** One part: all alike of it. */
export interface MeasuredPart {
  /** Plated area, mm2. */
  readonly areaMm2: number;
  readonly drawing: Drawing;
  readonly dimensions: readonly Dimension[];
}

export interface MeasuredWhole {
  readonly areaMm2: number;
  readonly lowMm2: number;
  readonly highMm2: number;
  /** Half width of the range, as a share. */
  readonly uncertainty: number;
  /** Share that belongs to hangers, 0 to 1. */
  readonly hanger: number;
  readonly decidingPart: number;
  /** The cut through the part that decides. */
  readonly section: CrossSection;
  /** The first to shut first. */
  readonly closures: readonly NamedClosure[];
}

export interface MeasuredPiece {
  /** By field path from the piece, such as `parts[0].sizes.wireDiameterMm`. */
  readonly problems: readonly Problem[];
  /** Null for each part with something wrong. */
  readonly parts: readonly (MeasuredPart | null)[];
  /** Null while anything is wrong. */
  readonly whole: MeasuredWhole | null;
}

function measuredPart(part: PartDescription, index: number): MeasuredPart | null {
  if (partProblems(part, index).length > 0) return null;
  const definition = definitionOf(part, index);
  return {
    areaMm2: partGrowth(part, index).areaMm2,
    drawing: definition.drawing(part),
    dimensions: definition.dimensions(part),
  };
}

function measuredWhole(piece: PieceDescription): MeasuredWhole {
  const { areaMm2 } = pieceGrowth(piece);
  const uncertainty = pieceAreaUncertainty(piece);
  const deciding = decidingPart(piece);
  return {
    areaMm2,
    lowMm2: areaMm2 * (1 - uncertainty),
    highMm2: areaMm2 * (1 + uncertainty),
    uncertainty,
    hanger: hangerShare(piece),
    decidingPart: deciding,
    section: sectionOf(piece, deciding),
    closures: namedClosures(piece),
  };
}

/** Judges and measures a piece; numbers that could not be read are NaN in it. */
export function measurePiece(piece: PieceDescription): MeasuredPiece {
  const problems = pieceProblems(piece);
  return {
    problems,
    parts: piece.parts.map(measuredPart),
    whole: problems.length > 0 ? null : measuredWhole(piece),
  };
}
