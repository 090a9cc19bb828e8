/** Brings the daemon's problems to the fields that stand on the page. */

import type { Problem } from '../daemon/piece/model.ts';

/** Fields of a question that one entry of the page stands for under another name. */
const renamed: readonly (readonly [RegExp, string])[] = [
  [/^target\.goal\./, 'target.'],
  [/^densityTyped$/, 'densityAmpsPerDm2'],
  [/^target\.partIndex$/, 'target.dimension'],
];

export function fieldOfPage(field: string): string {
  const found = renamed.find(([pattern]) => pattern.test(field));
  return found ? field.replace(...found) : field;
}

/** The entry to which a notice about a field can lead; null where the page has none. */
export function entryOf(field: string): string | null {
  const shown = fieldOfPage(field);
  if (shown === 'target') return 'target.kind';
  if (/^piece\.parts\[\d+\]$/.test(shown)) return `${shown}.label`;
  const entries =
    /^(piece\.(parts\[|name|area)|density|target\.|trickle\.|start\.|contact\.|paint|tankId|bathId)/;
  return entries.test(shown) ? shown : null;
}

/** The same problems under the fields of the page. */
export function fieldsOfPage(problems: readonly Problem[]): readonly Problem[] {
  return problems.map((problem) => {
    const { field, message } = problem;
    const shown = fieldOfPage(field);
    const told = message.startsWith(field) ? shown + message.slice(field.length) : message;
    return { ...problem, field: shown, message: told };
  });
}
