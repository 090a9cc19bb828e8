/** Where a draft stands in the library, and whether it has changed since it was saved there. */

import type { PieceDescription } from '../../daemon/piece/model.ts';
import { pieceOf, type LibraryPlace, type PieceDraft } from './draft.ts';

/** 32 bits that change with the piece (FNV-1a); to tell whether it changed, and for nothing else. */
export function markOf(piece: PieceDescription): string {
  let hash = 0x811c9dc5;
  for (const character of JSON.stringify(piece)) {
    hash = Math.imul(hash ^ (character.codePointAt(0) ?? 0), 0x01000193);
  }
  return (hash >>> 0).toString(16).padStart(8, '0');
}

/** A version in the library and the mark of its piece; empty for one that is older than the newest. */
export interface MarkedPlace {
  readonly place: LibraryPlace;
  readonly mark: string;
}

/** The place of a piece that was just opened or saved. */
export function placeOf(id: string, version: number, draft: PieceDraft): MarkedPlace {
  return { place: { id, version }, mark: markOf(pieceOf(draft).piece) };
}

/**
 * The newest place that this page has saved or opened each piece at. An undo brings an older draft
 * back, but not an older library: what is saved after it follows on what this page saved last.
 */
export class KnownPlaces {
  readonly #newest = new Map<string, MarkedPlace>();

  learn(marked: MarkedPlace): void {
    const known = this.#newest.get(marked.place.id);
    if (!known || known.place.version <= marked.place.version) {
      this.#newest.set(marked.place.id, marked);
    }
  }

  /** The place that a draft is saved over; null for one that is not in the library. */
  of({ library, savedMark }: PieceDraft): MarkedPlace | null {
    if (!library) return null;
    const known = this.#newest.get(library.id);
    const newer = known && known.place.version > library.version;
    return newer ? known : { place: library, mark: savedMark };
  }
}
