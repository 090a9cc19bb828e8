/** Random TOML documents in every manner of writing, each line with the path of what stands on it. */

import * as fc from 'fast-check';

export type Path = readonly (string | number)[];
export type Draw = fc.GeneratorValue;

export interface Line {
  /** Without its line end. */
  readonly text: string;
  /** What it belongs to; a comment or a blank line belongs to the table whose lines are around it. */
  readonly owner: Path;
  /** Trivia is a comment on a line of its own or a blank line, outside of any value. */
  readonly kind: 'header' | 'pair' | 'trivia';
}

export interface RandomDocument {
  readonly text: string;
  readonly lineEnd: string;
  readonly lines: readonly Line[];
}

/** A whole number from 0 on, below `end`. */
export const below = (g: Draw, end: number) => g(fc.nat, { max: end - 1 });
/** One of a list. */
export function pick<T>(g: Draw, list: readonly T[]): T {
  const one = list[below(g, list.length)];
  if (one === undefined) throw new Error('Nothing to pick from.');
  return one;
}

const scalars = [
  '0',
  '42',
  '-7',
  '3.0',
  '6.25e2',
  '0x1F',
  '1_000',
  'inf',
  '9007199254740993',
  'true',
  'false',
  '"plain"',
  '"a # sign, a ] and a } inside"',
  '"quotes \\" and \\\\ and \\u00e9"',
  "'literal \\ text'",
  '""',
  "''",
  '1979-05-27T07:32:00Z',
  '1979-05-27 07:32:00',
  '1979-05-27',
  '07:32:00',
];
const longTexts = [
  ['"""', '# no comment', '[no-header]', 'key = "no pair"', '"""'],
  ["'''one", "[[nothing]] ''", "three'''"],
  ['"""ends in a quote \\', '   folded """""'],
  ["'''", '', "'''"],
];
const trivia = ['', '', '# a comment', '  # indented = 1', '# [commented.out]', '#', '\t'];

class Writer {
  readonly lines: Line[] = [];
  private count = 0;
  private readonly g: Draw;

  constructor(g: Draw) {
    this.g = g;
  }

  private push(text: string, owner: Path, kind: Line['kind']): void {
    for (const line of text.split('\n')) this.lines.push({ text: line, owner, kind });
  }

  private name(): readonly [string, string] {
    this.count += 1;
    const plain = `k${this.count}`;
    const odd = `${plain}.odd ]#`;
    return pick<readonly [string, string]>(this.g, [
      [plain, plain],
      [plain, plain],
      [plain, `"${plain}"`],
      [odd, `"${odd}"`],
      [odd, `'${odd}'`],
      [`-${plain}_`, `-${plain}_`],
    ]);
  }

  private value(depth: number, oneLine = false): string {
    const { g } = this;
    const kind = below(g, depth > 2 ? 2 : 6);
    if (kind === 0 && !oneLine) return pick(g, longTexts).join('\n');
    if (kind === 3) return this.array(depth, oneLine);
    if (kind >= 4) return this.braces(depth, oneLine);
    return pick(g, scalars);
  }

  private array(depth: number, oneLine: boolean): string {
    const { g } = this;
    const items = Array.from({ length: below(g, 4) }, () => this.value(depth + 1, oneLine));
    if (oneLine || below(g, 2) === 0) {
      return `[${items.join(', ')}${items.length > 0 && below(g, 3) === 0 ? ',' : ''}]`;
    }
    const rows = items.map((item, index) => {
      const comma = index < items.length - 1 || below(g, 2) === 0 ? ',' : '';
      return `  ${item}${comma}${below(g, 3) === 0 ? ' # of this entry ] }' : ''}`;
    });
    return ['[', ...rows, ...(below(g, 3) === 0 ? ['  # the end'] : []), ']'].join('\n');
  }

  private braces(depth: number, oneLine: boolean): string {
    const { g } = this;
    const pairs: string[] = [];
    for (let index = below(g, 4); index > 0; index -= 1) {
      const [, key] = this.name();
      if (below(g, 3) === 0) {
        for (let more = 1 + below(g, 2); more > 0; more -= 1) {
          pairs.push(`${key}.${this.name()[1]} = ${this.value(depth + 1, oneLine)}`);
        }
      } else pairs.push(`${key}${pick(g, [' = ', '='])}${this.value(depth + 1, oneLine)}`);
    }
    return pairs.length === 0 ? pick(g, ['{}', '{ }']) : `{ ${pairs.join(', ')} }`;
  }

  private trivia(owner: Path): void {
    for (let index = below(this.g, 3); index > 0; index -= 1) {
      this.push(pick(this.g, trivia), owner, 'trivia');
    }
  }

  private pair(path: Path, written: string): void {
    const { g } = this;
    const equals = pick(g, [' = ', '=', '\t=  ']);
    const comment = pick(g, ['', '', ' # of this key', '  ']);
    this.push(
      `${pick(g, ['', '', '  '])}${written}${equals}${this.value(0)}${comment}`,
      path,
      'pair',
    );
  }

  private body(section: Path): void {
    const { g } = this;
    for (let index = below(g, 4); index > 0; index -= 1) {
      this.trivia(section);
      const [key, written] = this.name();
      if (below(g, 4) > 0) {
        this.pair([...section, key], written);
        continue;
      }
      for (let more = 1 + below(g, 3); more > 0; more -= 1) {
        const [inner, innerWritten] = this.name();
        const dot = pick(g, ['.', ' . ']);
        this.pair([...section, key, inner], `${written}${dot}${innerWritten}`);
        this.trivia([...section, key]);
      }
    }
    this.trivia(section);
  }

  private tables(path: Path, written: readonly string[], depth: number): void {
    const { g } = this;
    for (let index = below(g, depth === 0 ? 4 : 3); index > 0; index -= 1) {
      const [key, keyText] = this.name();
      const inner = [...written, keyText];
      const name = inner.join(pick(g, ['.', ' . ']));
      if (below(g, 3) === 0) {
        for (let nth = 0; nth < 1 + below(g, 3); nth += 1) {
          const element = [...path, key, nth];
          this.push(`[[${name}]]${pick(g, ['', ' # of this list'])}`, element, 'header');
          this.body(element);
          if (depth < 2) this.tables(element, inner, depth + 1);
        }
        continue;
      }
      const table = [...path, key];
      if (depth > 1 || below(g, 3) > 0) {
        this.push(`${pick(g, ['', ' '])}[${pick(g, ['', ' '])}${name} ]`, table, 'header');
        this.body(table);
      }
      if (depth < 2) this.tables(table, inner, depth + 1);
    }
  }

  document(): RandomDocument {
    const { g } = this;
    this.trivia([]);
    this.body([]);
    this.tables([], [], 0);
    const lineEnd = pick(g, ['\n', '\n', '\r\n']);
    // A last line without its end is a thing of its own, but a blank one of that kind is no line.
    const ended = this.lines.at(-1)?.text === '' || below(g, 4) > 0;
    const ending = this.lines.length > 0 && ended ? lineEnd : '';
    const lines = this.lines.map((line) => line.text).join(lineEnd);
    return { text: lines + ending, lineEnd, lines: this.lines };
  }
}

/** One random document. */
export function randomDocument(g: Draw): RandomDocument {
  return new Writer(g).document();
}
