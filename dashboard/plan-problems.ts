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

/** The same problems under the fields of the page. */
export function fieldsOfPage(problems: readonly Problem[]): readonly Problem[] {
  return problems.map((problem) => {
    const { field, message } = problem;
    const shown = fieldOfPage(field);
    const told = message.startsWith(field) ? shown + message.slice(field.length) : message;
    return { ...problem, field: shown, message: told };
  });
}
