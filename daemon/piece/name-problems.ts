/** Names that would deceive the eye: marks that turn the direction of writing, and control characters. */

import type { PieceDescription, Problem } from './model.ts';

/**
 * Controls, and the marks of the Unicode Bidirectional Algorithm (UAX #9) that embed, override or
 * isolate: they let a name be shown as another one, and turn the text behind it.
 */
const deceiving = /[\p{Cc}\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]/gu;

const codeOf = (character: string): string =>
  `U+${(character.codePointAt(0) ?? 0).toString(16).toUpperCase().padStart(4, '0')}`;

function nameProblem(field: string, name: string): readonly Problem[] {
  const found = [...new Set(name.match(deceiving) ?? [])].map(codeOf);
  if (found.length === 0) return [];
  const value = `"${name.replaceAll(deceiving, (mark) => `[${codeOf(mark)}]`)}"`;
  const bound = 'text on one line, without marks that turn its direction';
  const message =
    `${field} is ${value}; it must be ${bound}. ` +
    `Take out the invisible ${found.join(', ')}: type the name anew.`;
  return [{ field, value, bound, message }];
}

/** What is wrong with the names and notes of a piece, by field path. */
export function nameProblems({
  name,
  parts,
  materials = [],
}: PieceDescription): readonly Problem[] {
  return [
    ...nameProblem('name', name),
    ...parts.flatMap(({ label }, index) => nameProblem(`parts[${index}].label`, label)),
    ...materials.flatMap(({ note }, index) => nameProblem(`materials[${index}].note`, note ?? '')),
  ];
}
