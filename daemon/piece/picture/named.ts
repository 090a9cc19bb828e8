/** Which pictures a piece needs. */

import type { PieceDescription } from '../model.ts';

/** Ids of the pictures that the outlines of a piece name, each once, with the path that names it first. */
export function namedPictures(piece: PieceDescription): ReadonlyMap<string, string> {
  const fields = new Map<string, string>();
  for (const [index, { outline }] of piece.parts.entries()) {
    const id = outline?.pictureId;
    if (id !== undefined && !fields.has(id)) fields.set(id, `parts[${index}].outline.pictureId`);
  }
  return fields;
}
