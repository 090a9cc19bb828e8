/**
 * Takes a SCPI program message apart: units, headers, and parameters by their type
 * (from memory of IEEE 488.2 chapter 7 and SCPI-1999 volume 1 chapter 7).
 */

import type { ScpiError } from './errors.ts';

export interface Header {
  /** `*IDN` and the like. */
  readonly common: boolean;
  /** Begins with a colon and so at the root. */
  readonly absolute: boolean;
  /** Mnemonics in capitals, with their numeric suffix still on. */
  readonly mnemonics: readonly string[];
  readonly query: boolean;
}

export type Parameter =
  | { readonly kind: 'number'; readonly value: number; readonly unit: string }
  | { readonly kind: 'word'; readonly word: string }
  | { readonly kind: 'string' }
  | { readonly kind: 'block' }
  | { readonly kind: 'channels'; readonly channels: readonly number[] }
  | { readonly kind: 'expression' };

export interface Unit {
  readonly header: Header;
  readonly parameters: readonly Parameter[];
}

export function isError(result: unknown): result is ScpiError {
  return typeof result === 'object' && result !== null && 'code' in result;
}

/** Splits at a character that stands outside quotes and brackets. */
export function splitOutside(text: string, separator: string): string[] {
  if (!text.includes(separator)) return [text];
  const pieces: string[] = [];
  let quote = '';
  let depth = 0;
  let start = 0;
  for (let index = 0; index < text.length; index += 1) {
    const character = text[index] ?? '';
    if (quote !== '') {
      if (character === quote) quote = '';
    } else if (character === '"' || character === "'") quote = character;
    else if (character === '(') depth += 1;
    else if (character === ')') depth = Math.max(0, depth - 1);
    else if (character === separator && depth === 0) {
      pieces.push(text.slice(start, index));
      start = index + 1;
    }
  }
  pieces.push(text.slice(start));
  return pieces;
}

/**
 * Strips what IEEE 488.2 calls white space: every control character but the line feed, and the
 * space.
 */
export function stripWhite(text: string): string {
  let start = 0;
  let end = text.length;
  while (start < end && text.charCodeAt(start) <= 32) start += 1;
  while (end > start && text.charCodeAt(end - 1) <= 32) end -= 1;
  return start === 0 && end === text.length ? text : text.slice(start, end);
}

function firstWhite(text: string): number {
  for (let index = 0; index < text.length; index += 1) {
    if (text.charCodeAt(index) <= 32) return index;
  }
  return -1;
}

const plainHeader = /^(\*[A-Z]+|:?[A-Z][A-Z0-9_]*(?::[A-Z][A-Z0-9_]*)*)(\??)$/u;

function parseHeader(text: string): Header | ScpiError {
  const upper = text.toUpperCase();
  const match = plainHeader.exec(upper);
  if (match === null) {
    if (/[",'()]/u.test(upper)) return { code: -111 };
    if (/[^A-Z0-9_:*?]/u.test(upper) || upper.includes('::')) return { code: -101 };
    return { code: -102 };
  }
  const path = match[1] ?? '';
  const query = match[2] === '?';
  if (path.startsWith('*')) {
    return { common: true, absolute: true, mnemonics: [path], query };
  }
  const absolute = path.startsWith(':');
  const mnemonics = (absolute ? path.slice(1) : path).split(':');
  if (mnemonics.some((mnemonic) => mnemonic.length > 12)) return { code: -112 };
  return { common: false, absolute, mnemonics, query };
}

const numberShape = /^([+-]?(?:\d+\.?\d*|\.\d+))(?:\s*E\s*([+-]?\d+))?(\s*)(.*)$/su;
const unitShape = /^\/?[A-Z]+(?:[./][A-Z]+)*-?\d?$/u;
const binaryShapes: Readonly<Record<string, { readonly digits: RegExp; readonly base: number }>> = {
  H: { digits: /^[0-9A-F]+$/u, base: 16 },
  Q: { digits: /^[0-7]+$/u, base: 8 },
  B: { digits: /^[01]+$/u, base: 2 },
};

function parseNumber(text: string): Parameter | ScpiError {
  const match = numberShape.exec(text);
  if (match === null) return { code: -121 };
  const [, mantissa = '', exponent = '0', , unit = ''] = match;
  if (mantissa.length > 255) return { code: -124 };
  if (Math.abs(Number(exponent)) > 32_000) return { code: -123 };
  if (unit !== '' && !unitShape.test(unit)) return { code: /^[.+-]/u.test(unit) ? -121 : -102 };
  return { kind: 'number', value: Number(`${mantissa}e${exponent}`), unit };
}

function parseHash(text: string): Parameter | ScpiError {
  const shape = binaryShapes[text[1] ?? ''];
  if (shape !== undefined) {
    const digits = text.slice(2);
    if (!shape.digits.test(digits)) return { code: -121 };
    return { kind: 'number', value: Number.parseInt(digits, shape.base), unit: '' };
  }
  return /^#\d/u.test(text) ? { kind: 'block' } : { code: -161 };
}

function parseBracket(text: string): Parameter | ScpiError {
  if (!text.endsWith(')')) return { code: -171 };
  if (!text.startsWith('(@')) return { kind: 'expression' };
  const channels: number[] = [];
  for (const entry of text.slice(2, -1).split(',')) {
    const match = /^\s*(\d{1,4})\s*(?::\s*(\d{1,4})\s*)?$/u.exec(entry);
    if (match === null) return { code: -171 };
    const first = Number(match[1]);
    const last = Number(match[2] ?? match[1]);
    // A range may run either way; its ends say enough about it.
    channels.push(first, last);
  }
  return { kind: 'channels', channels };
}

function parseParameter(text: string): Parameter | ScpiError {
  const first = text[0] ?? '';
  if (first === '') return { code: -102 };
  const upper = text.toUpperCase();
  if (/[0-9+.-]/u.test(first)) return parseNumber(upper);
  if (/[A-Z]/u.test(upper[0] ?? '')) {
    return /^[A-Z][A-Z0-9_]*$/u.test(upper) ? { kind: 'word', word: upper } : { code: -102 };
  }
  if (first === '"' || first === "'") {
    const closed = text.length > 1 && text.endsWith(first);
    return closed ? { kind: 'string' } : { code: -151 };
  }
  if (first === '(') return parseBracket(upper);
  if (first === '#') return parseHash(upper);
  return { code: -101 };
}

/** Queries that were understood before: a host asks the same ones all night. */
const understood = new Map<string, Unit>();
const mostUnderstood = 256;

/** One unit of a message, or the first thing that is wrong with it. */
export function parseUnit(text: string): Unit | ScpiError {
  const known = understood.get(text);
  if (known !== undefined) return known;
  const unit = readUnit(text);
  if (!isError(unit) && unit.header.query && understood.size < mostUnderstood) {
    understood.set(text, unit);
  }
  return unit;
}

function readUnit(text: string): Unit | ScpiError {
  const trimmed = stripWhite(text);
  if (trimmed === '') return { code: -102 };
  const gap = firstWhite(trimmed);
  const header = parseHeader(gap < 0 ? trimmed : trimmed.slice(0, gap));
  if (isError(header)) return header;
  if (gap < 0) return { header, parameters: [] };
  const parameters: Parameter[] = [];
  for (const piece of splitOutside(trimmed.slice(gap + 1), ',')) {
    const parameter = parseParameter(stripWhite(piece));
    if (isError(parameter)) return parameter;
    parameters.push(parameter);
  }
  return { header, parameters };
}
