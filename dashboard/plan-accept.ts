/** What is accepted against advice: openings that may close, by the keys of their parts, and materials, by name. */

import type { PieceDescription } from '../daemon/piece/model.ts';
import { acceptNameOf, closuresOf, partsNamed } from '../daemon/run/closures.ts';
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

/** Names that accept the openings of these parts and of no others; `piece` is what the draft comes to. */
export function acceptedNames(
  keys: readonly string[],
  { parts }: Pick<PieceDraft, 'parts'>,
  piece: PieceDescription,
): string[] {
  if (keys.length === 0) return [];
  const closures = closuresOf(piece);
  const accepted = closures.filter(({ partIndex }) => keys.includes(parts[partIndex]?.key ?? ''));
  return [...new Set(accepted.map((closure) => acceptNameOf(closures, closure)))];
}

/** Keys of the parts whose openings a request accepts. */
export function acceptedKeys(
  names: readonly string[],
  { parts }: Pick<PieceDraft, 'parts'>,
  piece: PieceDescription,
): string[] {
  if (names.length === 0) return [];
  const closures = closuresOf(piece);
  const indexes = new Set(names.flatMap((name) => partsNamed(closures, name)));
  return [...indexes].flatMap((index) => parts[index]?.key ?? []);
}
