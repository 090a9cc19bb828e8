/** Walks over the bytes of a text file: words, numbers and lines, without making strings of them. */

import { refuse } from './model.ts';
import type { MeshErrorCode } from './model.ts';

const powersOfTen = Float64Array.from({ length: 23 }, (_, power) => Number(`1e${power}`));
const newline = 10;
const maxShown = 40;

/** Reads from `at`; every method leaves it behind what was read. */
export class TextScanner {
  readonly bytes: Uint8Array;
  at = 0;

  constructor(bytes: Uint8Array) {
    this.bytes = bytes;
    // A byte order mark is no part of the text.
    if (bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf) this.at = 3;
  }

  get ended(): boolean {
    return this.at >= this.bytes.length;
  }

  /** Skips blanks, and ends of lines too. */
  skipSpace(): void {
    const { bytes } = this;
    let { at } = this;
    while (at < bytes.length && (bytes[at] as number) <= 32) at += 1;
    this.at = at;
  }

  /** Skips blanks up to the end of the line. */
  skipBlanks(): void {
    const { bytes } = this;
    let { at } = this;
    for (; at < bytes.length; at += 1) {
      const byte = bytes[at] as number;
      if (byte > 32 || byte === newline || byte === 13) break;
    }
    this.at = at;
  }

  /** Whether nothing but the end of the line is here. */
  atLineEnd(): boolean {
    const byte = this.bytes[this.at];
    return byte === undefined || byte === newline || byte === 13;
  }

  /** Skips what is left of the line, and its end. */
  skipLine(): void {
    const end = this.bytes.indexOf(newline, this.at);
    this.at = end < 0 ? this.bytes.length : end + 1;
  }

  /** Skips a word. */
  skipWord(): void {
    const { bytes } = this;
    let { at } = this;
    while (at < bytes.length && (bytes[at] as number) > 32) at += 1;
    this.at = at;
  }

  /** Takes `word`, given in lower case, when it stands here as a whole; any case. */
  take(word: Uint8Array): boolean {
    const { bytes, at } = this;
    const end = at + word.length;
    for (let index = 0; index < word.length; index += 1) {
      if (((bytes[at + index] ?? 0) | 32) !== word[index]) return false;
    }
    if (end < bytes.length && (bytes[end] as number) > 32) return false;
    this.at = end;
    return true;
  }

  /**
   * The number that stands here, or NaN where there is none; the same number that `Number` makes of
   * its text. With up to 15 digits and a small power of ten, one exact operation does it.
   */
  number(): number {
    const { bytes } = this;
    const start = this.at;
    let at = start;
    const negative = bytes[at] === 45;
    if (negative || bytes[at] === 43) at += 1;
    let mantissa = 0;
    let digits = 0;
    let scale = 0;
    let seenPoint = false;
    for (; at < bytes.length; at += 1) {
      const byte = bytes[at] as number;
      if (byte >= 48 && byte <= 57) {
        mantissa = mantissa * 10 + byte - 48;
        if (mantissa !== 0) digits += 1;
        if (seenPoint) scale -= 1;
      } else if (byte === 46 && !seenPoint) seenPoint = true;
      else break;
    }
    const seen = at - start - (seenPoint ? 1 : 0) - (negative || bytes[start] === 43 ? 1 : 0);
    if (((bytes[at] ?? 32) | 32) === 101) {
      at += 1;
      const down = bytes[at] === 45;
      if (down || bytes[at] === 43) at += 1;
      const first = at;
      let exponent = 0;
      for (; at < bytes.length; at += 1) {
        const byte = bytes[at] as number;
        if (byte < 48 || byte > 57) break;
        exponent = exponent * 10 + byte - 48;
      }
      if (at === first) return this.#plainNumber(start);
      scale += down ? -exponent : exponent;
    }
    if (seen === 0 || digits > 15 || scale < -22 || scale > 22) return this.#plainNumber(start);
    this.at = at;
    const power = powersOfTen[scale < 0 ? -scale : scale] as number;
    const value = scale < 0 ? mantissa / power : mantissa * power;
    return negative ? -value : value;
  }

  /** The word here as text, shortened for a message. */
  shown(): string {
    const start = this.at;
    this.skipWord();
    const { at } = this;
    this.at = start;
    const text = textOf(this.bytes, start, Math.min(at, start + maxShown));
    return at - start > maxShown ? `${text}…` : text;
  }

  /** The refusal of what stands here, by its line. */
  unexpected(code: MeshErrorCode, bound: string): Error {
    const line = this.line();
    const value = this.ended ? 'the end of the file' : `"${this.shown()}"`;
    return refuse(
      code,
      `line ${line}`,
      value,
      bound,
      `Line ${line} has ${value}; expected is ${bound}.`,
    );
  }

  /** The line that `at` stands on, from 1. */
  line(): number {
    let line = 1;
    for (let index = 0; index < this.at; index += 1) {
      if (this.bytes[index] === newline) line += 1;
    }
    return line;
  }

  #plainNumber(start: number): number {
    this.at = start;
    const { bytes } = this;
    let end = start;
    // Words such as nan and inf are taken whole; slashes and quotes end a number.
    for (; end < bytes.length && end < start + 400; end += 1) {
      const byte = bytes[end] as number;
      if (byte <= 32 || byte === 47 || byte === 34 || byte === 39) break;
    }
    const text = textOf(bytes, start, end);
    if (/^[+-]?inf(inity)?$/i.test(text)) {
      this.at = end;
      return text.startsWith('-') ? -Infinity : Infinity;
    }
    if (!/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(text)) return Number.NaN;
    this.at = end;
    return Number(text);
  }
}

/** Bytes of ASCII text as a string; others become question marks. */
export function textOf(bytes: Uint8Array, start: number, end: number): string {
  let text = '';
  for (let index = start; index < end; index += 1) {
    const byte = bytes[index] ?? 63;
    text += byte >= 32 && byte < 127 ? String.fromCharCode(byte) : '?';
  }
  return text;
}

/** A word in lower case as bytes, to compare with. */
export function wordBytes(word: string): Uint8Array {
  return Uint8Array.from(word, (character) => character.charCodeAt(0));
}
