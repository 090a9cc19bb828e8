/** Finds materials by what a maker types: names, other names, beginnings, and small slips of the key. */

import { byStrictness } from './material.ts';
import type { Material } from './material.ts';

/** A row that fits what was typed, and the name that made it fit. */
export interface MaterialMatch {
  readonly id: string;
  readonly name: string;
  readonly matched: string;
  /** 0 for the very name; the higher, the looser. */
  readonly distance: number;
}

// Longer text names nothing, and the distance of letters costs time.
const longestText = 60;

/** Lower case, without accents, apostrophes and joints. */
function plain(text: string): string {
  return text
    .slice(0, longestText)
    .normalize('NFD')
    .toLowerCase()
    .replaceAll(/[\u0300-\u036f'’]/g, '')
    .replaceAll(/[^a-z0-9]+/g, ' ')
    .trim();
}

/** Letters changed, added, dropped or swapped with their neighbour between two words. */
function slips(left: string, right: string): number {
  let before: number[] = [];
  let row = Array.from({ length: right.length + 1 }, (_, index) => index);
  for (let i = 1; i <= left.length; i += 1) {
    const next = [i];
    for (let j = 1; j <= right.length; j += 1) {
      const same = left[i - 1] === right[j - 1];
      const swapped =
        i > 1 && j > 1 && left[i - 1] === right[j - 2] && left[i - 2] === right[j - 1];
      next.push(
        Math.min(
          (row[j - 1] ?? 0) + (same ? 0 : 1),
          (row[j] ?? 0) + 1,
          (next[j - 1] ?? 0) + 1,
          swapped ? (before[j - 2] ?? 0) + 1 : Infinity,
        ),
      );
    }
    before = row;
    row = next;
  }
  return row[right.length] ?? Infinity;
}

/** Short words bear no slip, since most of them are one slip from another. */
function allowedSlips(length: number): number {
  if (length < 4) return 0;
  return length < 8 ? 1 : 2;
}

/** How loosely a name fits the text; null where it does not. */
function looseness(text: string, name: string): number | null {
  if (text === name) return 0;
  if (name.startsWith(text)) return 1;
  const words = name.split(' ');
  if (words.includes(text)) return 1;
  if (words.some((word) => word.startsWith(text))) return 2;
  const allowed = allowedSlips(text.length);
  // Each letter more or less is a slip of its own, which spares most of the comparisons.
  const near = (word: string) =>
    Math.abs(text.length - word.length) > allowed ? Infinity : slips(text, word);
  const ofName = near(name);
  // A slip in a name of several words says more than one of its words by itself.
  if (text.includes(' ') && ofName <= allowed) return 3;
  if (text.split(' ').some((word) => word.length > 3 && word === name)) return 4;
  if (text.length > 3 && name.includes(text)) return 4;
  if (ofName <= allowed) return 4 + ofName;
  const ofWord = Math.min(...words.map(near));
  return ofWord <= allowed ? 5 + ofWord : null;
}

/**
 * Materials that fit what was typed, the best first; none for an empty text. Of those that fit as well
 * as each other the strictest comes first, since the name leaves open which one is meant.
 */
export function materialMatches(
  typed: string,
  table: readonly Material[],
  limit = 8,
): readonly MaterialMatch[] {
  const text = plain(typed);
  if (text === '') return [];
  const matches = table.flatMap((material) => {
    const { id, name, synonyms } = material;
    let best: MaterialMatch | null = null;
    for (const matched of [name, ...synonyms, id]) {
      const distance = looseness(text, plain(matched));
      if (distance === null || (best !== null && distance >= best.distance)) continue;
      best = { id, name, matched: matched === id ? name : matched, distance };
    }
    return best === null ? [] : [{ match: best, material }];
  });
  return matches
    .toSorted(
      (left, right) =>
        left.match.distance - right.match.distance ||
        byStrictness(left.material, right.material) ||
        (left.match.name < right.match.name ? -1 : 1),
    )
    .slice(0, limit)
    .map(({ match }) => match);
}

/** The row that bears this very name, the strictest where a maker's own table repeats it, or null. */
export function materialByName(typed: string, table: readonly Material[]): Material | null {
  const text = plain(typed);
  const isIt = ({ id, name, synonyms }: Material) =>
    [id, name, ...synonyms].some((one) => plain(one) === text);
  return text === '' ? null : (table.filter(isIt).toSorted(byStrictness)[0] ?? null);
}
