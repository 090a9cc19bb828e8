/** Seeded chance, and ways to spoil texts and documents. */

/** Numbers from 0 to 1 that are the same for the same seed (mulberry32, public domain). */
export class Chance {
  #state: number;

  constructor(seed: number) {
    this.#state = seed >>> 0;
  }

  next(): number {
    this.#state = (this.#state + 0x6d2b79f5) >>> 0;
    let mixed = this.#state;
    mixed = Math.imul(mixed ^ (mixed >>> 15), mixed | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  }

  /** A whole number from 0 up to, and without, the bound. */
  below(bound: number): number {
    return Math.floor(this.next() * bound);
  }

  one<T>(list: readonly T[]): T {
    const chosen = list[this.below(list.length)];
    if (chosen === undefined) throw new RangeError('There is nothing to choose from.');
    return chosen;
  }

  /** Any bytes, as latin1. */
  bytes(most: number): string {
    return Array.from({ length: this.below(most + 1) }, () =>
      String.fromCharCode(this.below(256)),
    ).join('');
  }
}

/** A text with a few characters changed, dropped, doubled, moved or put in. */
export function spoil(chance: Chance, text: string, dictionary: readonly string[]): string {
  let spoiled = text;
  for (let count = 1 + chance.below(3); count > 0; count -= 1) {
    const at = chance.below(spoiled.length + 1);
    const to = Math.min(spoiled.length, at + 1 + chance.below(8));
    const cut = spoiled.slice(at, to);
    const [before, after] = [spoiled.slice(0, at), spoiled.slice(to)];
    const ways: readonly (() => string)[] = [
      () => before + cut.slice(1) + after,
      () => before + after,
      () => before + cut + cut + after,
      () => before + chance.one(dictionary) + cut + after,
      () => before + chance.one(dictionary) + after,
      () => after + before,
      () => before,
      () =>
        before +
        String.fromCharCode((spoiled.charCodeAt(at) || 0) ^ (1 << chance.below(8))) +
        spoiled.slice(at + 1),
      () =>
        before + chance.one(['0', '9', 'A', ' ', '\u0000', '(']).repeat(chance.below(600)) + after,
    ];
    spoiled = chance.one(ways)();
  }
  return spoiled;
}

export type Json =
  null | boolean | number | string | readonly Json[] | { readonly [key: string]: Json };

const oddValues: readonly Json[] = [
  null,
  true,
  false,
  0,
  -0,
  1,
  -1,
  0.1,
  1e-300,
  1e300,
  1.797e308,
  2 ** 53,
  -(2 ** 53),
  4_294_967_296,
  37.5,
  '',
  ' ',
  '0',
  'NaN',
  '1e999',
  '../../etc/passwd',
  'a'.repeat(300),
  '\u202e',
  '\ud800',
  '{{7*7}}',
  '=1+1',
  '__proto__',
  [],
  [[]],
  [null],
  {},
  { kind: 'none' },
  { length: 1e9 },
  { toString: 1, valueOf: null },
  Array.from({ length: 60 }, () => 1),
];
const oddKeys = [
  '__proto__',
  'constructor',
  'prototype',
  'toString',
  'kind',
  'length',
  '',
  'hasOwnProperty',
  'polluted',
];

/** A copy of a document in which one place, anywhere, is something else. */
function changedOnce(chance: Chance, value: Json): Json {
  const isBranch = typeof value === 'object' && value !== null;
  if (!isBranch || chance.next() < 0.03) return otherThan(chance, value);
  if (Array.isArray(value)) {
    const list: Json[] = [...(value as readonly Json[])];
    const at = chance.below(list.length + 1);
    const how = chance.next();
    if (how < 0.06 || list.length === 0) list.splice(at, 0, chance.one(oddValues));
    else if (how < 0.12) list.splice(Math.min(at, list.length - 1), 1);
    else if (how < 0.18) list.push(...list);
    else
      list[Math.min(at, list.length - 1)] = changedOnce(
        chance,
        list[Math.min(at, list.length - 1)] ?? null,
      );
    return list;
  }
  const entries = Object.entries(value as { readonly [key: string]: Json });
  const how = chance.next();
  if (how < 0.05 || entries.length === 0)
    return fromEntries([...entries, [chance.one(oddKeys), chance.one(oddValues)]]);
  // Most of a document lies in its branches; a change there gets farther than one at the top.
  const branches = entries.flatMap(([, held], index) =>
    typeof held === 'object' && held !== null ? [index] : [],
  );
  const at =
    branches.length > 0 && chance.next() < 0.75
      ? chance.one(branches)
      : chance.below(entries.length);
  if (how < 0.1) return fromEntries(entries.toSpliced(at, 1));
  return fromEntries(
    entries.map(([key, held], index) => {
      if (index !== at) return [key, held];
      return how < 0.13 ? [chance.one(oddKeys), held] : [key, changedOnce(chance, held)];
    }),
  );
}

/** Own properties only, so that a key named __proto__ is a key and survives being written as JSON. */
function fromEntries(entries: readonly (readonly [string, Json])[]): Json {
  return Object.fromEntries(entries);
}

function otherThan(chance: Chance, value: Json): Json {
  if (typeof value === 'number' && chance.next() < 0.75) {
    const near = [value * 2, value / 2, value * 1.1, value + 0.5, value + 1, Math.round(value)];
    const far = [-value, 0, value * 10, value * 1e6, value / 1e6, 1 / (value || 1)];
    return chance.one(chance.next() < 0.6 ? near : far);
  }
  if (typeof value === 'string' && chance.next() < 0.5)
    return spoil(chance, value, ['0', '-', ' ', ':', 'µ', '\n']);
  return chance.one(oddValues);
}

/** A document with one change, or three, as the text of a body; now and then the text itself is spoiled. */
export function spoiledJson(chance: Chance, value: Json): string {
  let changed = value;
  for (let count = chance.next() < 0.7 ? 1 : 3; count > 0; count -= 1)
    changed = changedOnce(chance, changed);
  const text = JSON.stringify(changed) ?? 'null';
  return chance.next() < 0.1
    ? spoil(chance, text, [
        '{',
        '}',
        '[',
        ']',
        '"',
        ',',
        ':',
        '\\u0000',
        '1e999',
        '"__proto__":{"polluted":1},',
      ])
    : text;
}
