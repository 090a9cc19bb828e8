/** Splits a TOML text into its statements and their values, each with its place in the text. */

import { parse } from 'smol-toml';

/** The way to a value: names of keys, and positions in lists counted from 0. */
export type Path = readonly (string | number)[];

/** A value in the text, from its first character to the one after its last. */
export type ValueNode =
  { readonly kind: 'scalar'; readonly start: number; readonly end: number } | ArrayNode | TableNode;

/** A list in brackets. */
export interface ArrayNode {
  readonly kind: 'array';
  readonly start: number;
  readonly end: number;
  readonly items: readonly ValueNode[];
}

/** A table in braces. */
export interface TableNode {
  readonly kind: 'table';
  readonly start: number;
  readonly end: number;
  readonly pairs: readonly PairNode[];
}

/** A key with its value inside of braces. */
export interface PairNode {
  readonly keys: readonly string[];
  readonly start: number;
  readonly end: number;
  readonly value: ValueNode;
}

/** A header or a key with its value; the whole lines on which it stands belong to it. */
export interface Statement {
  readonly kind: 'header' | 'pair';
  /** Where its first line begins. */
  readonly start: number;
  /** After the line end of its last line, or the end of the text. */
  readonly end: number;
  /** What it defines; lists of tables are crossed by position. */
  readonly path: Path;
  /** The table whose header stands above it; its own path for a header. */
  readonly section: Path;
  /** Null for a header. */
  readonly value: ValueNode | null;
}

/** A text with its statements in order. */
export interface TomlText {
  readonly text: string;
  /** The line end that new lines get. */
  readonly lineEnd: '\n' | '\r\n';
  readonly statements: readonly Statement[];
}

/** Whether the path begins with all of the other. */
export function beginsWith(path: Path, prefix: Path): boolean {
  return prefix.length <= path.length && prefix.every((step, index) => path[index] === step);
}

/** Whether a path leads to a place inside of the other. */
export function isInside(path: Path, around: Path): boolean {
  return path.length > around.length && beginsWith(path, around);
}

/** Whether two paths are the same. */
export function samePath(left: Path, right: Path): boolean {
  return left.length === right.length && beginsWith(left, right);
}

/** Reads one statement after the other; the text has to be sound TOML, which is judged elsewhere. */
class Scanner {
  private at: number;
  private readonly text: string;

  constructor(text: string) {
    this.text = text;
    this.at = text.charCodeAt(0) === 0xfe_ff ? 1 : 0;
  }

  statements(): Statement[] {
    const found: Statement[] = [];
    const lengths = new Map<string, number>();
    let section: Path = [];
    while (this.at < this.text.length) {
      const start = this.at;
      this.skip(/[ \t]*/y);
      if (/^[#\r\n]?$/.test(this.text[this.at] ?? '')) {
        this.endLine();
        continue;
      }
      const list = this.text.startsWith('[[', this.at);
      if (this.text[this.at] === '[') {
        this.at += list ? 2 : 1;
        const keys = this.keys();
        section = list ? nextElement(keys, lengths) : crossing(keys, lengths);
        this.endLine();
        found.push({ kind: 'header', start, end: this.at, path: section, section, value: null });
      } else {
        const path = [...section, ...this.keys()];
        this.at += 1;
        this.skip(/[ \t]*/y);
        const value = this.value();
        this.endLine();
        found.push({ kind: 'pair', start, end: this.at, path, section, value });
      }
    }
    return found;
  }

  private skip(pattern: RegExp): number {
    pattern.lastIndex = this.at;
    const length = pattern.exec(this.text)?.[0].length ?? 0;
    this.at += length;
    return length;
  }

  /** What is left of a line that holds nothing more of its statement. */
  private endLine(): void {
    const next = this.text.indexOf('\n', this.at);
    this.at = next < 0 ? this.text.length : next + 1;
  }

  private skipVoid(): void {
    this.skip(/(?:[ \t\r\n]+|#[^\n]*)*/y);
  }

  /** Keys with dots between them; stops before the sign that ends them. */
  private keys(): string[] {
    const keys: string[] = [];
    for (;;) {
      this.skip(/[ \t]*/y);
      const start = this.at;
      if (/["']/.test(this.text[this.at] ?? '')) {
        this.quoted();
        const key: unknown = parse(`key = ${this.text.slice(start, this.at)}`)['key'];
        keys.push(String(key));
      } else if (this.skip(/[A-Za-z0-9_-]+/y) > 0) {
        keys.push(this.text.slice(start, this.at));
      } else {
        throw new Error(`No key was found at character ${start}.`);
      }
      this.skip(/[ \t]*/y);
      if (this.text[this.at] !== '.') return keys;
      this.at += 1;
    }
  }

  private quoted(): void {
    const whole = [
      /"""(?:[^"\\]|\\[^]|"{1,2}(?!"))*"{3,5}/y,
      /'''(?:[^']|'{1,2}(?!'))*'{3,5}/y,
      /"(?:[^"\\\n]|\\.)*"/y,
      /'[^'\n]*'/y,
    ];
    const start = this.at;
    if (!whole.some((pattern) => this.skip(pattern) > 0)) {
      throw new Error(`The text that begins at character ${start} does not end.`);
    }
  }

  private value(): ValueNode {
    const start = this.at;
    const first = this.text[start];
    if (first === '[') return this.array(start);
    if (first === '{') return this.table(start);
    if (first === '"' || first === "'") this.quoted();
    else {
      this.skip(/[^,\]}#\r\n]*/y);
      while (/[ \t]/.test(this.text[this.at - 1] ?? '')) this.at -= 1;
    }
    if (this.at === start) throw new Error(`No value was found at character ${start}.`);
    return { kind: 'scalar', start, end: this.at };
  }

  private array(start: number): ValueNode {
    const items: ValueNode[] = [];
    this.at += 1;
    this.skipVoid();
    while (this.text[this.at] !== ']') {
      items.push(this.value());
      this.afterMember(']');
    }
    this.at += 1;
    return { kind: 'array', start, end: this.at, items };
  }

  private table(start: number): ValueNode {
    const pairs: PairNode[] = [];
    this.at += 1;
    this.skipVoid();
    while (this.text[this.at] !== '}') {
      const from = this.at;
      const keys = this.keys();
      this.at += 1;
      this.skip(/[ \t]*/y);
      const value = this.value();
      pairs.push({ keys, start: from, end: value.end, value });
      this.afterMember('}');
    }
    this.at += 1;
    return { kind: 'table', start, end: this.at, pairs };
  }

  private afterMember(closing: string): void {
    this.skipVoid();
    const sign = this.text[this.at];
    if (sign === ',') {
      this.at += 1;
      this.skipVoid();
    } else if (sign !== closing) {
      throw new Error(`A comma or ${closing} was expected at character ${this.at}.`);
    }
  }
}

function crossing(keys: readonly string[], lengths: ReadonlyMap<string, number>): Path {
  const path: (string | number)[] = [];
  for (const key of keys) {
    path.push(key);
    const length = lengths.get(JSON.stringify(path));
    if (length !== undefined) path.push(length - 1);
  }
  return path;
}

function nextElement(keys: readonly string[], lengths: Map<string, number>): Path {
  const list = [...crossing(keys.slice(0, -1), lengths), keys.at(-1) ?? ''];
  const length = lengths.get(JSON.stringify(list)) ?? 0;
  lengths.set(JSON.stringify(list), length + 1);
  return [...list, length];
}

/** The statements of a text that is sound TOML; throws an Error where it is not. */
export function scan(text: string): TomlText {
  const firstEnd = text.indexOf('\n');
  const lineEnd = firstEnd > 0 && text[firstEnd - 1] === '\r' ? '\r\n' : '\n';
  return { text, lineEnd, statements: new Scanner(text).statements() };
}
