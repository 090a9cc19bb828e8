/** Finds where a value stands in a text: in braces or brackets, or spread over statements. */

import { beginsWith, isInside, samePath } from './scan.ts';
import type {
  ArrayNode,
  PairNode,
  Path,
  Statement,
  TableNode,
  TomlText,
  ValueNode,
} from './scan.ts';

/** A value that is written as such; `holder` is the list or the table in braces right around it. */
export interface Written {
  readonly kind: 'written';
  readonly node: ValueNode;
  readonly holder: Holder;
}

/** What is around a written value. */
export type Holder =
  | { readonly kind: 'line'; readonly statement: Statement }
  | { readonly kind: 'array'; readonly array: ArrayNode; readonly index: number }
  | { readonly kind: 'table'; readonly table: TableNode; readonly pair: PairNode };

/** A table inside of braces that exists by keys with dots only. */
export interface Dotted {
  readonly kind: 'dotted';
  readonly table: TableNode;
  /** Its keys from the braces on. */
  readonly keys: readonly string[];
  readonly pairs: readonly PairNode[];
}

/** A table or a list that exists by statements: headers, and keys with dots. */
export interface Spread {
  readonly kind: 'spread';
  readonly statements: readonly Statement[];
}

export type Place = Written | Dotted | Spread;

/** Where the value at a path stands, or null where the text holds none. */
export function locate(toml: TomlText, path: Path): Place | null {
  for (const statement of toml.statements) {
    const { value } = statement;
    if (value === null || !beginsWith(path, statement.path)) continue;
    const holder: Holder = { kind: 'line', statement };
    return within(value, holder, path.slice(statement.path.length));
  }
  const statements = toml.statements.filter((one) => beginsWith(one.path, path));
  return statements.length > 0 || path.length === 0 ? { kind: 'spread', statements } : null;
}

function within(node: ValueNode, holder: Holder, rest: Path): Place | null {
  const [step] = rest;
  if (step === undefined) return { kind: 'written', node, holder };
  if (node.kind === 'array' && typeof step === 'number') {
    const item = node.items[step];
    if (item === undefined) return null;
    return within(item, { kind: 'array', array: node, index: step }, rest.slice(1));
  }
  if (node.kind !== 'table') return null;
  const pair = node.pairs.find(({ keys }) => beginsWith(rest, keys));
  if (pair !== undefined) {
    const around: Holder = { kind: 'table', table: node, pair };
    return within(pair.value, around, rest.slice(pair.keys.length));
  }
  const pairs = node.pairs.filter(({ keys }) => isInside(keys, rest));
  const keys = rest.filter((one) => typeof one === 'string');
  return pairs.length === 0 ? null : { kind: 'dotted', table: node, keys, pairs };
}

/** The statements that stand under a header: its keys, up to the next header. */
export function bodyOf(toml: TomlText, header: Statement): readonly Statement[] {
  const from = toml.statements.indexOf(header) + 1;
  const next = toml.statements.findIndex(({ kind }, index) => index >= from && kind === 'header');
  return toml.statements.slice(from, next < 0 ? undefined : next);
}

/** The header of exactly this table, or null where it has none. */
export function headerOf(toml: TomlText, path: Path): Statement | null {
  return toml.statements.find((one) => one.kind === 'header' && samePath(one.path, path)) ?? null;
}

/** Where the line that ends at `before` begins. */
function lineBefore(text: string, before: number): number {
  return before === 0 ? 0 : text.lastIndexOf('\n', before - 2) + 1;
}

/** Where the comment begins that stands right above a line, without a blank line between. */
export function aboveComment(text: string, lineStart: number): number {
  let start = lineStart;
  while (start > 0) {
    const previous = lineBefore(text, start);
    if (!/^[ \t]*#(?!:)/.test(text.slice(previous, start))) return start;
    start = previous;
  }
  return start;
}

/** The place for something new after a statement: past a comment that hangs on it and on nothing else. */
export function belowComment(text: string, end: number): number {
  let at = end;
  for (;;) {
    const next = text.indexOf('\n', at);
    const line = text.slice(at, next < 0 ? undefined : next);
    if (/^\s*$/.test(line)) return at;
    if (!/^[ \t]*#/.test(line)) return end;
    if (next < 0) return text.length;
    at = next + 1;
  }
}

/** Whether the line that ends at `at` is blank, or there is none. */
export function blankBefore(text: string, at: number): boolean {
  return /^\s*$/.test(text.slice(lineBefore(text, at), at));
}

/** Whether the line that begins at `at` is blank, or there is none. */
export function blankAfter(text: string, at: number): boolean {
  const next = text.indexOf('\n', at);
  return /^\s*$/.test(text.slice(at, next < 0 ? undefined : next));
}
