/** What is wrong with a settings, bath or dialect file, said so that a maker can mend it. */

import type { Problem } from '../piece/model.ts';

/** A problem with the file it stands in and, where it is known, its line counted from 1. */
export interface SettingsProblem extends Problem {
  readonly file: string;
  readonly line: number | null;
}

/** Thrown when a file cannot be used; `problems` holds each fault, the message all of them. */
export class SettingsError extends Error {
  override readonly name = 'SettingsError';
  readonly problems: readonly SettingsProblem[];

  constructor(problems: readonly SettingsProblem[], options?: ErrorOptions) {
    super(problems.map(describeProblem).join('\n'), options);
    this.problems = problems;
  }
}

function describeProblem(problem: SettingsProblem): string {
  const place = problem.line === null ? problem.file : `${problem.file}, line ${problem.line}`;
  return `${place}: ${problem.message}`;
}

/** A problem with the file as a whole, such as one that cannot be read. */
export function fileProblem(file: string, message: string, line: number | null = null) {
  return { file, line, field: '', value: '', bound: '', message } satisfies SettingsProblem;
}

/** A key path as a person writes it: `tanks[0].rectifier.link`. */
export function keyPath(path: readonly PropertyKey[]): string {
  let text = '';
  for (const step of path) {
    if (typeof step === 'number') text += `[${step}]`;
    else text += text === '' ? String(step) : `.${String(step)}`;
  }
  return text;
}

/** The steps of a written key path: the way back from `keyPath`. */
export function pathOfKey(field: string): PropertyKey[] {
  return (field.match(/[^.[\]]+/g) ?? []).map((step) => (/^\d+$/.test(step) ? Number(step) : step));
}

/** A value as it is shown in a message: short, on one line, and never a failure of its own. */
export function showValue(value: unknown): string {
  if (value === undefined) return 'missing';
  if (typeof value === 'number' || typeof value === 'boolean' || typeof value === 'bigint') {
    return String(value);
  }
  if (value instanceof Date) return 'a date';
  if (Array.isArray(value)) return `a list of ${value.length}`;
  if (typeof value === 'object' && value !== null) return 'a table';
  const text = JSON.stringify(value) ?? typeof value;
  return text.length > 60 ? `${text.slice(0, 57)}…"` : text;
}

/** The value that a path leads to, looked up without touching prototypes. */
export function valueAt(root: unknown, path: readonly PropertyKey[]): unknown {
  let value: unknown = root;
  for (const step of path) {
    if (typeof value !== 'object' || value === null || !Object.hasOwn(value, step))
      return undefined;
    value = Reflect.get(value, step);
  }
  return value;
}

function editDistance(left: string, right: string): number {
  let row = Array.from({ length: right.length + 1 }, (_, index) => index);
  for (let i = 1; i <= left.length; i += 1) {
    const next = [i];
    for (let j = 1; j <= right.length; j += 1) {
      const change = (row[j - 1] ?? 0) + (left[i - 1] === right[j - 1] ? 0 : 1);
      next.push(Math.min(change, (row[j] ?? 0) + 1, (next[j - 1] ?? 0) + 1));
    }
    row = next;
  }
  return row[right.length] ?? 0;
}

/** Case and joints do not count: `max_amps` is near `maxAmps`. */
function plain(text: string): string {
  return text.toLowerCase().replaceAll(/[-_ ]/g, '');
}

/** The known word that a mistyped one most likely means; null when none is near. */
function nearestWord(word: string, known: readonly string[]): string | null {
  let best: string | null = null;
  let bestDistance = Infinity;
  for (const candidate of known) {
    const distance = editDistance(plain(word).slice(0, 80), plain(candidate));
    if (distance < bestDistance) {
      best = candidate;
      bestDistance = distance;
    }
  }
  // Two letters swapped count as two edits, so short words get two as well.
  const allowed = Math.max(word.length < 4 ? 1 : 2, Math.floor(word.length / 3));
  return bestDistance <= allowed ? best : null;
}

/** `Did you mean "x"?`, or an empty string. */
export function didYouMean(word: string, known: readonly string[]): string {
  const near = nearestWord(word, known);
  return near === null ? '' : ` Did you mean "${near}"?`;
}
