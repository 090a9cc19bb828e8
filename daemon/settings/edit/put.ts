/** Puts a new key into a table of a text, or a new entry into a list, with no other line changed. */

import { EditRefused, isTable, placeName } from './changes.ts';
import {
  aboveComment,
  belowComment,
  blankAfter,
  blankBefore,
  bodyOf,
  headerOf,
  locate,
} from './locate.ts';
import type { Dotted, Spread } from './locate.ts';
import {
  asSections,
  headerText,
  inlineText,
  keyText,
  sectionLines,
  textLike,
  valueSections,
} from './render.ts';
import type { ArrayNode, Path, Statement, TableNode, TomlText } from './scan.ts';

/** A stretch of the text and what takes its place. */
export interface Splice {
  readonly start: number;
  readonly end: number;
  readonly text: string;
}

/** The text with the stretch replaced. */
export function spliced(text: string, { start, end, text: replacement }: Splice): string {
  return text.slice(0, start) + replacement + text.slice(end);
}

function inserted(at: number, text: string): Splice {
  return { start: at, end: at, text };
}

/** The lines at a place where a line begins; a last line without an end is given one first. */
function insertedLines(toml: TomlText, at: number, lines: readonly string[]): Splice {
  const { text, lineEnd } = toml;
  const open = at > 0 && text[at - 1] !== '\n' && !(at === 1 && text.startsWith('\ufeff'));
  return inserted(at, (open ? lineEnd : '') + lines.map((line) => line + lineEnd).join(''));
}

/** Tables with a blank line to what stands before and after them. */
function insertedTables(toml: TomlText, at: number, lines: readonly string[]): Splice {
  const { text } = toml;
  const before = at === 0 || blankBefore(text, at) ? [] : [''];
  const after = blankAfter(text, at) ? [] : [''];
  return insertedLines(toml, at, [...before, ...lines, ...after]);
}

/** A key that the table at `path` does not hold yet. Throws EditRefused where no table is there. */
export function putKey(toml: TomlText, path: Path, key: string, value: unknown): Splice {
  const place = locate(toml, path);
  if (place === null) return putTableAround(toml, path, key, value);
  if (place.kind === 'written') {
    if (place.node.kind !== 'table') throw new EditRefused(`${placeName(path)} is not a table.`);
    return putInBraces(toml, place.node, `${keyText(key)} = ${inlineText(value)}`);
  }
  return place.kind === 'dotted'
    ? putDotted(toml, place, key, value)
    : putSpread(toml, place, path, key, value);
}

/** The table is not there either: it is made with the key in it. */
function putTableAround(toml: TomlText, path: Path, key: string, value: unknown): Splice {
  const name = path.at(-1);
  if (typeof name !== 'string') throw new EditRefused(`There is no ${placeName(path)}.`);
  return putKey(toml, path.slice(0, -1), name, Object.fromEntries([[key, value]]));
}

function putDotted(toml: TomlText, place: Dotted, key: string, value: unknown): Splice {
  const name = [...place.keys, key].map(keyText).join('.');
  return putInBraces(toml, place.table, `${name} = ${inlineText(value)}`);
}

function putInBraces(toml: TomlText, table: TableNode, pair: string): Splice {
  const last = table.pairs.at(-1);
  return last === undefined
    ? inserted(table.start + 1, toml.text[table.start + 1] === ' ' ? ` ${pair}` : ` ${pair} `)
    : inserted(last.end, `, ${pair}`);
}

function putSpread(toml: TomlText, place: Spread, path: Path, key: string, value: unknown): Splice {
  const header = headerOf(toml, path);
  const own = path.length === 0 || header !== null;
  const dotted = place.statements.filter(
    ({ kind, section }) => kind === 'pair' && section.length < path.length,
  );
  const last = dotted.at(-1);
  if (!own && last !== undefined) {
    const keys = [...path.slice(last.section.length), key].map(String).map(keyText);
    return insertedLines(toml, last.end, [
      `${indentOf(toml, last)}${keys.join('.')} = ${inlineText(value)}`,
    ]);
  }
  if (asSections(path, value)) {
    const lines = valueSections([...path, key], value);
    return insertedTables(toml, endOf(toml, place.statements), lines);
  }
  const pair = `${keyText(key)} = ${inlineText(value)}`;
  if (own) return putInBody(toml, header, pair);
  const first = place.statements[0];
  if (first === undefined) throw new EditRefused(`There is no ${placeName(path)}.`);
  const at = aboveComment(toml.text, first.start);
  return insertedTables(toml, at, [headerText(path), pair]);
}

function indentOf({ text }: TomlText, { start }: Statement): string {
  return /^[ \t]*/.exec(text.slice(start, start + 200))?.[0] ?? '';
}

/** After the last key under the header; the keys of no table stand before the first header. */
function putInBody(toml: TomlText, header: Statement | null, pair: string): Splice {
  const root = toml.statements.findIndex(({ kind }) => kind === 'header');
  const body =
    header === null ? toml.statements.slice(0, root < 0 ? undefined : root) : bodyOf(toml, header);
  const last = body.at(-1) ?? header;
  if (last !== null) {
    return insertedLines(toml, last.end, [`${indentOf(toml, last)}${pair}`]);
  }
  const first = toml.statements[root];
  if (first === undefined) return insertedLines(toml, toml.text.length, [pair]);
  return insertedTables(toml, aboveComment(toml.text, first.start), [pair]);
}

function endOf({ text }: TomlText, statements: readonly Statement[]): number {
  const end = Math.max(0, ...statements.map((one) => one.end));
  return end === 0 ? text.length : belowComment(text, end);
}

/** A new last entry of the list at `path`. */
export function putEntry(toml: TomlText, path: Path, value: unknown): readonly Splice[] {
  const place = locate(toml, path);
  const key = path.at(-1);
  if (place === null && typeof key === 'string') {
    return [putKey(toml, path.slice(0, -1), key, [value])];
  }
  if (place?.kind === 'written' && place.node.kind === 'array') {
    const { holder, node } = place;
    // An empty list says nothing of how its entries are written: tables then get their headers.
    const line = node.items.length === 0 && holder.kind === 'line' ? holder.statement : null;
    const underItsHeader = line !== null && line.path.length === line.section.length + 1;
    if (line !== null && underItsHeader && isTable(value)) {
      return tablesForEmptyList(toml, line, value);
    }
    return [putInBrackets(toml, node, value)];
  }
  if (place?.kind === 'spread' && typeof place.statements[0]?.path[path.length] === 'number') {
    const lengths = place.statements.map(({ path: one }) => Number(one[path.length]) + 1);
    const lines = sectionLines([...path, Math.max(...lengths)], isTable(value) ? value : wrong());
    return [insertedTables(toml, endOf(toml, place.statements), lines)];
  }
  throw new EditRefused(`${placeName(path)} is not a list.`);
}

function wrong(): never {
  throw new EditRefused('An entry of a list of tables has to be a table.');
}

function tablesForEmptyList(
  toml: TomlText,
  line: Statement,
  value: Record<string, unknown>,
): readonly Splice[] {
  const section = toml.statements.filter(
    (one) => one === line || (one.section === line.section && line.section.length > 0),
  );
  const around = line.section.length === 0 ? toml.statements : section;
  const at = Math.max(line.end, endOf(toml, around));
  const lines = sectionLines([...line.path, 0], value);
  return [insertedTables(toml, at, lines), { start: line.start, end: line.end, text: '' }];
}

function putInBrackets(toml: TomlText, array: ArrayNode, value: unknown): Splice {
  const last = array.items.at(-1);
  if (last === undefined) return inserted(array.start + 1, inlineText(value));
  const text = textLike(toml.text.slice(last.start, last.end), value);
  const lineStart = toml.text.lastIndexOf('\n', last.start - 1) + 1;
  const before = toml.text.slice(lineStart, last.start);
  // An entry that has a line to itself is followed by another of its kind.
  const own = lineStart > array.start && /^[ \t]*$/.test(before);
  return inserted(last.end, own ? `,${toml.lineEnd}${before}${text}` : `, ${text}`);
}
