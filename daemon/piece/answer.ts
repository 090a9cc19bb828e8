/** What the helpers for sizes and materials answer with: a value, or what is wrong with the input. */

import type { Problem } from './model.ts';

/** Either the value asked for, or the one thing that stands in its way. */
export type Answer<Value> =
  { readonly ok: true; readonly value: Value } | { readonly ok: false; readonly problem: Problem };

/** A figure with the range in which it lies; `low` and `high` are in the unit of `value`. */
export interface Span {
  readonly low: number;
  readonly value: number;
  readonly high: number;
}

export function found<Value>(value: Value): Answer<Value> {
  return { ok: true, value };
}

/** A refusal that names the field, what was given and the bound, and may add what to do. */
export function refused(field: string, value: string, bound: string, advice = ''): Answer<never> {
  const shown = value.trim() === '' ? 'empty' : value;
  const message = `${field} is ${shown}; it must be ${bound}.${advice === '' ? '' : ` ${advice}`}`;
  return { ok: false, problem: { field, value: shown, bound, message } };
}

/** Typed text as it is shown in a message: in quotes, on one line and not endless. */
export function quoted(text: string): string {
  const line = text.replaceAll(/\s+/g, ' ').trim();
  if (line === '') return '';
  return `"${line.length > 40 ? `${line.slice(0, 39)}…` : line}"`;
}
