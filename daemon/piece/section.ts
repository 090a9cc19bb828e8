/** The cut through a part of a piece, as its picture is drawn from. */

import type { CrossSection, PieceDescription } from './model.ts';
import { partDefinition } from './parts.ts';

/** A dot where the piece has no such part, or its kind is not known to this version. */
export function sectionOf(piece: PieceDescription, index: number): CrossSection {
  const part = piece.parts[index];
  const definition = part && partDefinition(part.kind);
  return part && definition ? definition.crossSection(part) : { shape: 'round', diameterMm: 1 };
}
