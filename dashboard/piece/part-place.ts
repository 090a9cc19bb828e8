/** One part of the piece and where it stands, as the views of a part pass it on. */

import type { DraftPart, PieceDraft } from './draft.ts';
import type { PartKind } from './kinds.ts';

export interface PartPlace {
  readonly part: DraftPart;
  readonly index: number;
  /** The path of its entries, such as `piece.parts[0]`. */
  readonly path: string;
  readonly definition: PartKind | undefined;
}

/** A change of the part that stands there. */
export const onPart =
  (index: number, apply: (part: DraftPart) => void) =>
  (draft: PieceDraft): void => {
    const part = draft.parts[index];
    if (part) apply(part);
  };

/** What the maker calls it, or else what it is. */
export const nameOf = ({ part, definition }: Pick<PartPlace, 'part' | 'definition'>): string =>
  part.label.trim() || definition?.title || part.kind;
