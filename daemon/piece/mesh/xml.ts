/** A strict, small XML scanner over bytes: elements and attributes of a UTF-8 document, no DTD. */

import { refuse } from './model.ts';
import { textOf, wordBytes } from './text-scanner.ts';

const lessThan = 60;
const greaterThan = 62;
const slash = 47;
const ampersand = 38;
const maxDepth = 64;
const maxAttributes = 64;

/** `start` and `end` of an element, an empty one gives both; `done` once after the root has ended. */
export type XmlStep = 'start' | 'end' | 'done';

/**
 * Checks as it goes: tags nest and close, attributes are quoted and named once, only the five named
 * entities and character references occur. Anything else throws MeshError with its place.
 */
export class XmlScanner {
  readonly bytes: Uint8Array;
  /** The name of the element of this step, with its prefix. */
  nameStart = 0;
  nameEnd = 0;
  attributeCount = 0;
  /** Start and end of the name and of the value of each attribute. */
  readonly attributes = new Int32Array(4 * maxAttributes);
  /** Elements that are open, the one just started among them. */
  depth = 0;
  #at = 0;
  readonly #open = new Int32Array(2 * maxDepth);
  #emptyElement = false;
  #rooted = false;

  constructor(bytes: Uint8Array) {
    this.bytes = bytes;
    if (bytes[0] === 0xef && bytes[1] === 0xbb && bytes[2] === 0xbf) this.#at = 3;
    else if (bytes[0] === 0xfe || bytes[0] === 0xff || bytes[0] === 0 || bytes[1] === 0) {
      throw this.#malformed('text in UTF-8');
    }
  }

  next(): XmlStep {
    if (this.#emptyElement) {
      this.#emptyElement = false;
      this.depth -= 1;
      return 'end';
    }
    const { bytes } = this;
    for (;;) {
      this.#skipText();
      if (this.#at >= bytes.length) {
        if (this.depth > 0 || !this.#rooted) throw this.#malformed('the end of every element');
        return 'done';
      }
      const byte = bytes[this.#at + 1];
      if (byte === slash) return this.#endTag();
      if (byte === 33) this.#declaration();
      else if (byte === 63) this.#instruction();
      else return this.#startTag();
    }
  }

  /** Whether the bytes from `start` to `end` spell `word`. */
  spells(start: number, end: number, word: Uint8Array): boolean {
    if (end - start !== word.length) return false;
    for (let index = 0; index < word.length; index += 1) {
      if (this.bytes[start + index] !== word[index]) return false;
    }
    return true;
  }

  /** The value of an attribute by its whole name, or null; with entities replaced. */
  attribute(name: string): string | null {
    for (let index = 0; index < this.attributeCount; index += 1) {
      const at = 4 * index;
      const key = textOf(this.bytes, this.attributes[at] ?? 0, this.attributes[at + 1] ?? 0);
      if (key === name) return this.attributeText(index);
    }
    return null;
  }

  /** The value of an attribute by its place, with entities replaced. */
  attributeText(index: number): string {
    const start = this.attributes[4 * index + 2] ?? 0;
    const end = this.attributes[4 * index + 3] ?? 0;
    return decoded(this.bytes, start, end);
  }

  /** The refusal of what the scanner stands at. */
  #malformed(bound: string): Error {
    const line = lineOf(this.bytes, this.#at);
    return refuse(
      'notWellFormed',
      `line ${line} of the model`,
      textOf(this.bytes, this.#at, Math.min(this.#at + 30, this.bytes.length)),
      bound,
      `The XML of the model is not well-formed at line ${line}: expected is ${bound}.`,
    );
  }

  #forbidden(what: string): Error {
    const line = lineOf(this.bytes, this.#at);
    return refuse(
      'forbiddenXml',
      `line ${line} of the model`,
      what,
      'elements and attributes only',
      `The XML of the model has ${what} at line ${line}; that is never read.`,
    );
  }

  /** Text carries nothing here, but outside the root only blanks may stand. */
  #skipText(): void {
    const { bytes } = this;
    const found = bytes.indexOf(lessThan, this.#at);
    const end = found < 0 ? bytes.length : found;
    for (let at = this.#at; at < end; at += 1) {
      const byte = bytes[at] as number;
      if (byte === ampersand) this.#entity(at, end);
      else if ((byte > 32 && this.depth === 0) || (byte < 32 && !isSpace(byte))) {
        this.#at = at;
        throw this.#malformed('an element');
      }
    }
    this.#at = end;
  }

  #entity(at: number, end: number): void {
    const text = textOf(this.bytes, at, Math.min(at + 12, end));
    if (/^&(?:lt|gt|amp|quot|apos|#\d{1,7}|#x[\da-fA-F]{1,6});/.test(text)) return;
    this.#at = at;
    if (/^&[A-Za-z_]/.test(text)) throw this.#forbidden('an entity of its own');
    throw this.#malformed('an entity such as &amp;');
  }

  #startTag(): XmlStep {
    if (this.depth === 0 && this.#rooted) throw this.#malformed('a single root element');
    this.#rooted = true;
    this.#at += 1;
    this.#name();
    this.#attributes();
    const { bytes } = this;
    if (bytes[this.#at] === slash) {
      this.#emptyElement = true;
      this.#at += 1;
    }
    if (bytes[this.#at] !== greaterThan) throw this.#malformed('the end of a tag');
    this.#at += 1;
    if (this.depth >= maxDepth)
      throw this.#malformed(`at most ${maxDepth} elements in one another`);
    this.#open[2 * this.depth] = this.nameStart;
    this.#open[2 * this.depth + 1] = this.nameEnd;
    this.depth += 1;
    return 'start';
  }

  #endTag(): XmlStep {
    if (this.depth === 0) throw this.#malformed('an element');
    this.#at += 2;
    this.#name();
    const start = this.#open[2 * this.depth - 2] as number;
    const end = this.#open[2 * this.depth - 1] as number;
    let same = end - start === this.nameEnd - this.nameStart;
    for (let index = 0; same && index < end - start; index += 1) {
      same = this.bytes[start + index] === this.bytes[this.nameStart + index];
    }
    if (!same) throw this.#malformed(`the end of ${textOf(this.bytes, start, end)}`);
    this.#skipSpace();
    if (this.bytes[this.#at] !== greaterThan) throw this.#malformed('the end of a tag');
    this.#at += 1;
    this.depth -= 1;
    this.attributeCount = 0;
    return 'end';
  }

  #name(): void {
    const { bytes } = this;
    const start = this.#at;
    let at = start;
    while (isNameByte(bytes[at] ?? 0)) at += 1;
    const first = bytes[start] ?? 0;
    if (at === start || first === 45 || first === 46 || (first >= 48 && first <= 57)) {
      throw this.#malformed('a name');
    }
    this.nameStart = start;
    this.nameEnd = at;
    this.#at = at;
  }

  #attributes(): void {
    const { bytes, attributes, nameStart, nameEnd } = this;
    let count = 0;
    for (;;) {
      const before = this.#at;
      this.#skipSpace();
      const byte = bytes[this.#at];
      if (byte === greaterThan || byte === slash) break;
      if (before === this.#at) throw this.#malformed('a blank before an attribute');
      if (count === maxAttributes) {
        throw this.#malformed(`at most ${maxAttributes} attributes in an element`);
      }
      this.#name();
      attributes[4 * count] = this.nameStart;
      attributes[4 * count + 1] = this.nameEnd;
      this.#requireNew(count);
      this.#skipSpace();
      if (bytes[this.#at] !== 61) throw this.#malformed('an equals sign');
      this.#at += 1;
      this.#skipSpace();
      this.#value(count);
      count += 1;
    }
    this.attributeCount = count;
    // The name of the element, not that of the last attribute, is this step's.
    this.nameStart = nameStart;
    this.nameEnd = nameEnd;
  }

  #requireNew(count: number): void {
    const { attributes } = this;
    for (let index = 0; index < count; index += 1) {
      const start = attributes[4 * index] as number;
      const end = attributes[4 * index + 1] as number;
      let same = end - start === this.nameEnd - this.nameStart;
      for (let at = 0; same && at < end - start; at += 1) {
        same = this.bytes[start + at] === this.bytes[this.nameStart + at];
      }
      if (same) throw this.#malformed('each attribute once');
    }
  }

  #value(index: number): void {
    const { bytes } = this;
    const quote = bytes[this.#at];
    if (quote !== 34 && quote !== 39) throw this.#malformed('a value in quotes');
    const start = this.#at + 1;
    let at = start;
    for (; at < bytes.length; at += 1) {
      const byte = bytes[at] as number;
      if (byte === quote) break;
      if (byte === lessThan || (byte < 32 && !isSpace(byte))) {
        this.#at = at;
        throw this.#malformed('the end of a value');
      }
      if (byte === ampersand) this.#entity(at, bytes.length);
    }
    if (at >= bytes.length) throw this.#malformed('the end of a value');
    this.attributes[4 * index + 2] = start;
    this.attributes[4 * index + 3] = at;
    this.#at = at + 1;
  }

  #skipSpace(): void {
    while (isSpace(this.bytes[this.#at] ?? 0)) this.#at += 1;
  }

  /** A comment, or character data inside the root; a DTD is refused. */
  #declaration(): void {
    const opening = textOf(this.bytes, this.#at, Math.min(this.#at + 9, this.bytes.length));
    if (opening.startsWith('<!--')) this.#skipPast('-->', 4);
    else if (opening === '<![CDATA[' && this.depth > 0) this.#skipPast(']]>', 9);
    else if (/^<!(DOCTYPE|ENTITY|ELEMENT|ATTLIST|NOTATION)/i.test(opening.padEnd(9))) {
      throw this.#forbidden('a document type');
    } else throw this.#forbidden('a declaration');
  }

  #instruction(): void {
    const start = this.#at;
    this.#skipPast('?>', 2);
    const text = textOf(this.bytes, start, Math.min(this.#at, start + 200));
    if (!/^<\?xml\s/.test(text)) return;
    const encoding = /\sencoding\s*=\s*["']([^"']*)["']/.exec(text)?.[1] ?? 'utf-8';
    if (/^(utf-8|us-ascii)$/i.test(encoding)) return;
    this.#at = start;
    throw this.#malformed('text in UTF-8');
  }

  #skipPast(closing: string, opened: number): void {
    const [first = 0, ...rest] = wordBytes(closing);
    const { bytes } = this;
    let at = this.#at + opened;
    for (;;) {
      at = bytes.indexOf(first, at);
      if (at < 0) throw this.#malformed(`"${closing}"`);
      const from = at + 1;
      if (rest.every((byte, index) => bytes[from + index] === byte)) {
        this.#at = at + closing.length;
        return;
      }
      at += 1;
    }
  }
}

function isSpace(byte: number): boolean {
  return byte === 32 || byte === 10 || byte === 13 || byte === 9;
}

/** Letters, digits, colon, hyphen, full stop, underscore, and all beyond ASCII. */
function isNameByte(byte: number): boolean {
  return (
    (byte >= 97 && byte <= 122) ||
    (byte >= 65 && byte <= 90) ||
    (byte >= 45 && byte <= 46) ||
    (byte >= 48 && byte <= 58) ||
    byte === 95 ||
    byte >= 128
  );
}

function lineOf(bytes: Uint8Array, end: number): number {
  let line = 1;
  for (let at = 0; at < end && at < bytes.length; at += 1) if (bytes[at] === 10) line += 1;
  return line;
}

const named: Readonly<Record<string, string>> = {
  lt: '<',
  gt: '>',
  amp: '&',
  quot: '"',
  apos: "'",
};

function decoded(bytes: Uint8Array, start: number, end: number): string {
  return textOf(bytes, start, end).replace(/&([^;]{1,8});/g, (whole, name: string) => {
    if (!name.startsWith('#')) return named[name] ?? whole;
    const code = name.startsWith('#x') ? parseInt(name.slice(2), 16) : Number(name.slice(1));
    return code > 0 && code <= 0x10ffff ? String.fromCodePoint(code) : '?';
  });
}
