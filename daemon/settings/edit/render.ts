/** Writes values as TOML: in one line, or as tables with headers. */

import { EditRefused, isTable } from './changes.ts';
import type { Path } from './scan.ts';

const bareKey = /^[A-Za-z0-9_-]+$/;

/** Control signs that a text in double quotes may not hold as they are. */
const forbidden = /\p{Cc}/gu;

/** One half of a character that takes two; no file in UTF-8 can hold it. */
const halfSign = /\p{Cs}/u;

function basicText(text: string): string {
  return JSON.stringify(text).replaceAll(forbidden, (sign) => {
    return `\\u${(sign.codePointAt(0) ?? 0).toString(16).padStart(4, '0')}`;
  });
}

/** A key as it stands before an equals sign or in a header. */
export function keyText(key: string): string {
  return bareKey.test(key) ? key : basicText(key);
}

/** A header line without its line end. */
export function headerText(path: Path): string {
  const keys = path.filter((step) => typeof step === 'string').map(keyText);
  const name = keys.join('.');
  return typeof path.at(-1) === 'number' ? `[[${name}]]` : `[${name}]`;
}

function numberText(value: number): string {
  if (Number.isFinite(value)) {
    if (Object.is(value, -0)) return '-0.0';
    if (Number.isInteger(value) && !Number.isSafeInteger(value)) {
      return value.toExponential().replace('e+', 'e');
    }
    return String(value);
  }
  return Number.isNaN(value) ? 'nan' : value > 0 ? 'inf' : '-inf';
}

/** A value on one line. Throws EditRefused for what TOML has no way to say. */
export function inlineText(value: unknown): string {
  if (typeof value === 'string') {
    if (halfSign.test(value)) throw new EditRefused('The text holds half of a character.');
    return basicText(value);
  }
  if (typeof value === 'number') return numberText(value);
  if (typeof value === 'boolean' || typeof value === 'bigint') return String(value);
  if (value instanceof Date) return value.toISOString();
  if (Array.isArray(value)) return `[${value.map(inlineText).join(', ')}]`;
  if (isTable(value)) {
    const pairs = Object.entries(value).map(([key, one]) => `${keyText(key)} = ${inlineText(one)}`);
    return pairs.length === 0 ? '{}' : `{ ${pairs.join(', ')} }`;
  }
  throw new EditRefused(`TOML has no way to write ${value === null ? 'null' : typeof value}.`);
}

/** The value in the manner of the text that it replaces: its quotation marks, its decimal point. */
export function textLike(old: string, value: unknown): string {
  if (typeof value === 'number' && Number.isSafeInteger(value) && /^[+-]?\d+\.\d+$/.test(old)) {
    return Object.is(value, -0) ? '-0.0' : `${value}.0`;
  }
  if (typeof value !== 'string' || halfSign.test(value)) return inlineText(value);
  const plain = /^[^\p{Cc}']*$/u;
  if (old.startsWith("'''") || old.startsWith('"""')) return longText(old, value);
  return old.startsWith("'") && plain.test(value) ? `'${value}'` : basicText(value);
}

/** A text of several lines stays one where it can be written as it is. */
function longText(old: string, value: string): string {
  const several = value.includes('\n') && !old.includes('\r');
  const literal = /^(?:[^\p{Cc}]|[\t\n])*$/u.test(value) && !value.includes("'''");
  if (several && literal && !value.endsWith("'") && old.startsWith("'''"))
    return `'''\n${value}'''`;
  return basicText(value);
}

function isListOfTables(value: unknown): value is readonly Record<string, unknown>[] {
  return Array.isArray(value) && value.length > 0 && value.every(isTable);
}

const longestInline = 80;

/** Whether a new value gets headers of its own where it is put into the table at `path`. */
export function asSections(path: Path, value: unknown): boolean {
  if (isListOfTables(value)) return true;
  if (!isTable(value)) return false;
  if (!path.some((step) => typeof step === 'number')) return true;
  const nested = Object.values(value).some((one) => isTable(one) || isListOfTables(one));
  return nested || inlineText(value).length > longestInline;
}

/** The lines of a table with its header and of the tables inside of it, blank lines between tables. */
export function sectionLines(path: Path, table: Record<string, unknown>): string[] {
  const lines = [headerText(path)];
  const entries = Object.entries(table);
  const inner = entries.filter(([, value]) => asSections(path, value));
  for (const [key, value] of entries) {
    if (!asSections(path, value)) lines.push(`${keyText(key)} = ${inlineText(value)}`);
  }
  for (const [key, value] of inner) lines.push('', ...valueSections([...path, key], value));
  return lines;
}

/** The lines of a value that gets headers: one table, or each of a list. */
export function valueSections(path: Path, value: unknown): string[] {
  if (isTable(value)) return sectionLines(path, value);
  if (!isListOfTables(value)) throw new EditRefused('Only tables have headers.');
  return value.flatMap((one, index) => [
    ...(index === 0 ? [] : ['']),
    ...sectionLines([...path, index], one),
  ]);
}
