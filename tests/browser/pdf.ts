/** Reads as much of a PDF as a browser writes: its pages, and the text on them by their fonts' own tables. */

import { inflateSync } from 'node:zlib';

interface Part {
  readonly head: string;
  /** Unpacked; empty where there is none. */
  readonly body: string;
}

function partsOf(bytes: Uint8Array): ReadonlyMap<string, Part> {
  const file = Buffer.from(bytes);
  const text = file.toString('latin1');
  const parts = new Map<string, Part>();
  for (const match of text.matchAll(/(?:^|\n)(\d+) 0 obj\b/g)) {
    const from = match.index + match[0].length;
    const to = text.indexOf('endobj', from);
    const stream = text.indexOf('stream', from);
    const head = text.slice(from, stream > 0 && stream < to ? stream : to);
    const length = Number(/\/Length (\d+)\b/.exec(head)?.[1] ?? 0);
    let body = '';
    if (stream > 0 && stream < to && length > 0) {
      const begin = stream + (text[stream + 6] === '\r' ? 8 : 7);
      const packed = file.subarray(begin, begin + length);
      const flat = head.includes('/FlateDecode') ? inflateSync(packed) : packed;
      body = head.includes('/Subtype /Image') ? '' : flat.toString('latin1');
    }
    parts.set(match[1] ?? '', { head, body });
  }
  return parts;
}

/** From glyph numbers to text, as the table inside the PDF has it. */
function tableOf(body: string): ReadonlyMap<number, string> {
  const table = new Map<number, string>();
  const letters = (hex: string): string =>
    (hex.match(/.{4}/g) ?? []).map((unit) => String.fromCharCode(parseInt(unit, 16))).join('');
  for (const [, block = ''] of body.matchAll(/beginbfchar([\s\S]*?)endbfchar/g)) {
    for (const [, from = '', to = ''] of block.matchAll(/<([0-9A-Fa-f]+)> <([0-9A-Fa-f]+)>/g)) {
      table.set(parseInt(from, 16), letters(to));
    }
  }
  for (const [, block = ''] of body.matchAll(/beginbfrange([\s\S]*?)endbfrange/g)) {
    const ranges = block.matchAll(/<([0-9A-Fa-f]+)> <([0-9A-Fa-f]+)> <([0-9A-Fa-f]+)>/g);
    for (const [, from = '', to = '', first = ''] of ranges) {
      const start = parseInt(from, 16);
      for (let glyph = start; glyph <= parseInt(to, 16); glyph += 1) {
        table.set(glyph, String.fromCharCode(parseInt(first, 16) + glyph - start));
      }
    }
  }
  return table;
}

export interface PdfText {
  readonly pages: number;
  /** Width and height of the first page, points of 1/72 inch. */
  readonly size: readonly [number, number];
  /** All text in the order in which it is drawn, without any blanks. */
  readonly text: string;
}

/** Throws where the file has no page or no text that its fonts explain. */
export function readPdf(bytes: Uint8Array): PdfText {
  const parts = partsOf(bytes);
  const tables = new Map<string, ReadonlyMap<number, string>>();
  for (const [number, { head }] of parts) {
    const table = /\/ToUnicode (\d+) 0 R/.exec(head)?.[1];
    if (table !== undefined) tables.set(`F${number}`, tableOf(parts.get(table)?.body ?? ''));
  }
  const pages = [...parts.values()].filter(({ head }) => /\/Type \/Page\b(?!s)/.test(head));
  const box = /\/MediaBox \[([\d. ]+)\]/
    .exec(pages[0]?.head ?? '')?.[1]
    ?.split(' ')
    .map(Number);
  let text = '';
  for (const { head } of pages) {
    const content = /\/Contents (\d+) 0 R/.exec(head)?.[1] ?? '';
    text += textOf(parts.get(content)?.body ?? '', tables);
  }
  if (pages.length === 0 || text === '') throw new Error('No page with text was found in the PDF.');
  return { pages: pages.length, size: [box?.[2] ?? 0, box?.[3] ?? 0], text };
}

function textOf(body: string, tables: ReadonlyMap<string, ReadonlyMap<number, string>>): string {
  let table: ReadonlyMap<number, string> | undefined;
  let text = '';
  for (const [, font, glyphs] of body.matchAll(/\/(F\d+) [\d.-]+ Tf|<([0-9A-Fa-f]+)>/g)) {
    if (font !== undefined) table = tables.get(font);
    for (const glyph of glyphs?.match(/.{4}/g) ?? []) {
      text += table?.get(parseInt(glyph, 16)) ?? '';
    }
  }
  return text.replaceAll(/\s/g, '');
}
