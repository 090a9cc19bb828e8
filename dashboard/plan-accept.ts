/** What is accepted against advice: openings that may close, by the keys of their parts, and materials, by name. */

import type { PieceDescription } from '../daemon/piece/model.ts';
import { numberNameOf, partNameOf, sameName } from '../daemon/piece/part-names.ts';
import type { NamedClosure } from '../daemon/run/closures.ts';
import type { PieceDraft } from './piece/draft.ts';
import type { Draft } from './plan-draft.ts';

/** Accepts that the openings of a part close, or takes that back. */
export function accepting(draft: Draft, key: string, closes: boolean): void {
  const others = draft.acceptClosures.filter((one) => one !== key);
  draft.acceptClosures = closes ? [...others, key] : others;
}

/** Accepts that a material that gives off a poison is in the bath, or takes that back. */
export function acceptingMaterial(draft: Draft, id: string, accepts: boolean): void {
  const others = draft.acceptMaterials.filter((one) => one !== id);
  draft.acceptMaterials = accepts ? [...others, id] : others;
}

/** Names that accept the openings of these parts and of no others, of all that the piece has. */
export function acceptedNames(
  keys: readonly string[],
  { parts }: Pick<PieceDraft, 'parts'>,
  closures: readonly NamedClosure[],
): string[] {
  const accepted = closures.filter(({ partIndex }) => keys.includes(parts[partIndex]?.key ?? ''));
  return [...new Set(accepted.map(({ acceptName }) => acceptName))];
}

/** Keys of the parts that a request names by their labels, or else by their numbers. */
export function acceptedKeys(
  names: readonly string[],
  { parts }: Pick<PieceDraft, 'parts'>,
  piece: PieceDescription,
): string[] {
  const keysOf = (name: string, nameOf: (index: number) => string): string[] =>
    parts.filter((_, index) => sameName(nameOf(index), name)).map(({ key }) => key);
  const found = names.flatMap((name) => {
    const labelled = keysOf(name, (index) => partNameOf(piece, index));
    return labelled.length > 0 ? labelled : keysOf(name, numberNameOf);
  });
  return [...new Set(found)];
}
