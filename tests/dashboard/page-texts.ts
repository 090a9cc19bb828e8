/** Finds text for people that stands in a source of the dashboard instead of in its words. */

import { parseSync } from 'vite';

export interface FoundText {
  readonly file: string;
  readonly line: number;
  readonly text: string;
}

interface Node {
  readonly type: string;
  readonly start: number;
  readonly [key: string]: unknown;
}

/** Stands for an expression inside a template. */
const hole = '\ue000';

/** Signs of units are the same in every language; a figure with one of them is no text. */
const sign = /^(?:[µmcd]?m[²³23]?|in[²2]?|ft[²2]?|m?A|V|Ω|W|g|m?L|min|h|s|K|°C?|%|px)$/u;

function isUnit(word: string): boolean {
  return word.split(/[/·]/).every((part) => sign.test(part));
}

/** The words of a text that are no signs of units. */
export const proseIn = (text: string): readonly string[] =>
  text
    .replaceAll(/&[a-z]+;/g, ' ')
    .split(/[\s\ue000,;:()]+/u)
    .filter((word) => /\p{L}/u.test(word) && !isUnit(word));

/** Where any letters are read by people. */
const hasWords = (text: string): boolean => proseIn(text).length > 0;

/** Shapes of SVG, font names for a canvas, and classes of a stylesheet have blanks as well. */
const notProse = [
  /^[MLHVAahvlz](?=[-\d\s.\ue000])[MLHVAahvlz\d\s.,\ue000-]*$/u,
  /system-ui/,
  /^(?:[a-z-]+|\ue000)(?: is-[a-z]+)+$/u,
];

/** Whether a text of code looks as if it were for people: words with a blank, or one with a capital. */
function isProse(text: string): boolean {
  if (notProse.some((shape) => shape.test(text))) return false;
  if (/^\p{Lu}\p{Ll}+$/u.test(text)) return true;
  return hasWords(text) && /\s/.test(text.trim());
}

/** Attributes that are read out or shown. */
const spoken =
  /^\.?(?:aria-(?:label|description|roledescription|valuetext)|title|placeholder|alt)$/;
/** Attributes whose texts are names of the stylesheet or shapes, never for people. */
const unspoken = /^[.?@]?(?:class|d|points|style|viewBox|id|href|fill|transform|stroke-dasharray)$/;

/** Calls whose texts are selectors, media queries or names, never for people. */
const quietCalls = /^(?:querySelector(?:All)?|closest|matches|matchMedia|getElementById)$/;
/** Calls that show what they are given. */
const showing = /^(?:fact|button|heading|figure)$/;
/** Faults of the program, which pages show as `words.failed`. */
const faults = /^(?:Range|Type)?Error$/;

const isNode = (value: unknown): value is Node =>
  typeof value === 'object' && value !== null && typeof (value as Node).type === 'string';

function childrenOf(node: Node): readonly Node[] {
  return Object.values(node)
    .flat()
    .filter((one) => isNode(one));
}

const nodeAt = (node: Node, key: string): Node => node[key] as Node;
const nodesAt = (node: Node, key: string): readonly Node[] => node[key] as readonly Node[];

function textOf(node: Node): string | null {
  if (node.type === 'Literal') return typeof node['value'] === 'string' ? node['value'] : null;
  if (node.type !== 'TemplateLiteral') return null;
  const parts = nodesAt(node, 'quasis').map(
    (quasi) => (quasi['value'] as { cooked: string | null }).cooked ?? '',
  );
  return parts.join(hole);
}

const calledName = (callee: Node): string => {
  const name = callee.type === 'MemberExpression' ? nodeAt(callee, 'property') : callee;
  return typeof name['name'] === 'string' ? name['name'] : '';
};

/** The branches of an expression that may come out as its value. */
function outcomes(node: Node): readonly Node[] {
  switch (node.type) {
    case 'ConditionalExpression':
      return [nodeAt(node, 'consequent'), nodeAt(node, 'alternate')].flatMap(outcomes);
    case 'LogicalExpression':
    case 'BinaryExpression':
      return [nodeAt(node, 'left'), nodeAt(node, 'right')].flatMap(outcomes);
    case 'ArrayExpression':
      return nodesAt(node, 'elements').filter(isNode).flatMap(outcomes);
    default:
      return [node];
  }
}

/** Markup of a template up to one of its expressions: the attribute in whose value that stands. */
function attributeBefore(markup: string): string | null {
  return /([\w.:@?-]+)=(?:"[^"]*|'[^']*|)$/.exec(markup)?.[1] ?? null;
}

class Reader {
  readonly found: FoundText[] = [];
  readonly #file: string;
  readonly #source: string;
  /** Texts that were judged where they stand. */
  readonly #settled = new Set<Node>();

  constructor(file: string, source: string) {
    this.#file = file;
    this.#source = source;
  }

  #add({ start }: Node, text: string): void {
    const line = this.#source.slice(0, start).split('\n').length;
    const plain = text.replaceAll(hole, '${}').replaceAll(/\s+/g, ' ').trim();
    this.found.push({ file: this.#file, line, text: plain });
  }

  /** Every letter counts where an expression is shown as it is. */
  #shown(expression: Node): void {
    for (const node of outcomes(expression)) {
      const text = textOf(node);
      if (text === null) continue;
      this.#settled.add(node);
      if (hasWords(text)) this.#add(node, text);
    }
  }

  #quiet(expression: Node): void {
    for (const node of outcomes(expression)) this.#settled.add(node);
  }

  #markup(node: Node): void {
    const quasi = nodeAt(node, 'quasi');
    this.#settled.add(quasi);
    const markup = textOf(quasi) ?? '';
    for (const [, text = ''] of markup.matchAll(/(?:^|>)([^<>]*)(?=<|$)/g)) {
      // What is left of a tag that is cut by the borders of the template is no text.
      if (hasWords(text)) this.#add(node, text);
    }
    for (const [, name = '', quoted = ''] of markup.matchAll(/\s([\w.:@?-]+)=("[^"]*"|'[^']*')/g)) {
      if (spoken.test(name) && hasWords(quoted.slice(1, -1))) this.#add(node, quoted);
    }
    let before = '';
    const pieces = markup.split(hole);
    for (const [index, expression] of nodesAt(quasi, 'expressions').entries()) {
      before += pieces[index] ?? '';
      const attribute = attributeBefore(before);
      if (attribute === null || spoken.test(attribute)) this.#shown(expression);
      else if (unspoken.test(attribute)) this.#quiet(expression);
      before += hole;
    }
  }

  #call(node: Node): void {
    const name = calledName(nodeAt(node, 'callee'));
    const given = nodesAt(node, 'arguments');
    if (quietCalls.test(name) || (node.type === 'NewExpression' && faults.test(name))) {
      for (const one of given) this.#quiet(one);
    }
    if (showing.test(name)) for (const one of given) this.#shown(one);
  }

  walk(node: Node): void {
    if (/^TS(?:Literal|TypeAnnotation|TypeAliasDeclaration|InterfaceDeclaration)/.test(node.type)) {
      return;
    }
    if (/^(?:Import|ExportAll|ExportNamed)/.test(node.type) && isNode(node['source'])) {
      this.#settled.add(node['source']);
    }
    if (node.type === 'TaggedTemplateExpression') this.#markup(node);
    if (node.type === 'CallExpression' || node.type === 'NewExpression') this.#call(node);
    const text = textOf(node);
    if (text !== null && !this.#settled.has(node) && isProse(text)) this.#add(node, text);
    for (const child of childrenOf(node)) this.walk(child);
  }
}

/** Texts for people in a source file, in the order in which they stand. */
export function textsIn(file: string, source: string): readonly FoundText[] {
  const reader = new Reader(file, source);
  const { program, errors } = parseSync(file, source);
  if (errors.length > 0) throw new Error(`${file} cannot be parsed: ${errors[0]?.message}`);
  reader.walk(program as unknown as Node);
  return reader.found.toSorted((a, b) => a.line - b.line);
}

/** Letters between the tags of a page, apart from the places that a build fills in. */
export function textsInMarkup(markup: string): readonly string[] {
  return [...markup.matchAll(/>([^<]+)</g)]
    .map(([, text = '']) => text.replaceAll(/%[\w.]+%/g, '').trim())
    .filter(hasWords);
}

/** Letters that a stylesheet puts on the page. */
export function textsInStyles(styles: string): readonly string[] {
  return [...styles.matchAll(/content:\s*(?:"([^"]*)"|'([^']*)')/g)]
    .map(([, double, single]) => double ?? single ?? '')
    .filter(hasWords);
}

/** Ways of writing numbers, dates and lists that ask no language. */
const unlocalized = /\.toFixed\(|\.toLocale\w*String\(|\bIntl\.|\.join\(', '\)|\.getHours\(/g;

/** Lines on which numbers, dates or lists are written by hand. */
export function handwritten(source: string): readonly string[] {
  return source
    .split('\n')
    .filter((line) => line.search(unlocalized) >= 0)
    .map((line) => line.trim());
}

/** The literal pieces of all texts in a source, whoever they are for. */
export function literalsIn(source: string): readonly string[] {
  const found: string[] = [];
  const walk = (node: Node): void => {
    const text = textOf(node);
    if (text !== null) found.push(...text.split(hole));
    for (const child of childrenOf(node)) walk(child);
  };
  walk(parseSync('source.ts', source).program as unknown as Node);
  return found;
}
