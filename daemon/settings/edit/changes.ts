/** What may be asked of a settings text, and the same change made to its data. */

import type { Path } from './scan.ts';

/** A change of one place. `add` puts an entry at the end of a list; `set` of a table takes it whole. */
export type TomlChange =
  | { readonly kind: 'set'; readonly path: Path; readonly value: unknown }
  | { readonly kind: 'add'; readonly path: Path; readonly value: unknown }
  | { readonly kind: 'remove'; readonly path: Path };

/** Thrown when a text cannot be edited as asked; the message says why, and nothing was changed. */
export class EditRefused extends Error {
  override readonly name = 'EditRefused';
}

/** A place as it stands in sentences: `tanks[0].name`. */
export function placeName(path: Path): string {
  const text = path.map((step) => (typeof step === 'number' ? `[${step}]` : `.${step}`)).join('');
  return text.startsWith('.') ? text.slice(1) : text === '' ? 'the file' : text;
}

/** A table of data, and neither a list nor a date. */
export function isTable(value: unknown): value is Record<string, unknown> {
  return (
    typeof value === 'object' && value !== null && !Array.isArray(value) && !(value instanceof Date)
  );
}

/** Whether two pieces of data say the same; the order of keys says nothing. */
export function sameData(left: unknown, right: unknown): boolean {
  if (Array.isArray(left)) {
    return (
      Array.isArray(right) &&
      left.length === right.length &&
      left.every((item, index) => sameData(item, right[index]))
    );
  }
  if (left instanceof Date) return right instanceof Date && dateText(left) === dateText(right);
  if (isTable(left)) {
    if (!isTable(right)) return false;
    const keys = Object.keys(left);
    return (
      keys.length === Object.keys(right).length &&
      keys.every((key) => Object.hasOwn(right, key) && sameData(left[key], right[key]))
    );
  }
  return Object.is(left, right);
}

function dateText(date: Date): string {
  return Number.isNaN(date.getTime()) ? 'none' : date.toISOString();
}

/** The data after the change; the given data stays as it is. Throws EditRefused for a place that is not there. */
export function changedData(root: unknown, change: TomlChange): unknown {
  return changedAt(root, change.path, change);
}

function changedAt(node: unknown, rest: Path, change: TomlChange): unknown {
  const [step, ...further] = rest;
  if (step === undefined) return changedHere(node, change);
  if (typeof step === 'number') {
    if (!Array.isArray(node) || step < 0 || step >= node.length) throw missing(change);
    if (further.length === 0 && change.kind === 'remove') {
      return node.filter((_, index) => index !== step);
    }
    return node.map((item: unknown, index) =>
      index === step ? changedAt(item, further, change) : item,
    );
  }
  if (node !== undefined && !isTable(node)) throw missing(change);
  const entries = Object.entries(node ?? {});
  const known = entries.some(([key]) => key === step);
  if (change.kind === 'remove' && !known) throw missing(change);
  if (further.length === 0 && change.kind === 'remove') {
    return Object.fromEntries(entries.filter(([key]) => key !== step));
  }
  const inner = known ? entries.find(([key]) => key === step)?.[1] : undefined;
  const next = changedAt(inner, further, change);
  return Object.fromEntries(
    known
      ? entries.map(([key, value]) => [key, key === step ? next : value])
      : [...entries, [step, next]],
  );
}

function changedHere(node: unknown, change: TomlChange): unknown {
  if (change.kind === 'set') return change.value;
  if (change.kind === 'remove') throw new EditRefused('The file as a whole cannot be removed.');
  if (node === undefined) return [change.value];
  if (!Array.isArray(node)) throw new EditRefused(`${placeName(change.path)} is not a list.`);
  return [...node, change.value];
}

function missing({ path }: TomlChange): EditRefused {
  return new EditRefused(`There is no ${placeName(path)} in this file.`);
}
