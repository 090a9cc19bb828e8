/** Looks at JSON before it is parsed: how many values it holds, and how deep they lie. */

import { Buffer } from 'node:buffer';

/** A careful trace takes some 20,000 values; this many are parsed in a moment. */
export const maxValues = 200_000;
export const maxDepth = 32;

const quote = 0x22;
const backslash = 0x5c;
const comma = 0x2c;
const openers: ReadonlySet<number> = new Set([0x5b, 0x7b]);
const closers: ReadonlySet<number> = new Set([0x5d, 0x7d]);

/** Where the string that opens at `start` closes; the end of the text where it never does. */
function endOfString(text: Buffer, start: number): number {
  for (let at = text.indexOf(quote, start + 1); at >= 0; at = text.indexOf(quote, at + 1)) {
    let slashes = 0;
    while (text[at - 1 - slashes] === backslash) slashes += 1;
    if (slashes % 2 === 0) return at;
  }
  return text.length;
}

/**
 * Why the text is not worth parsing, as a sentence; null when it is. Only brackets and commas outside
 * of strings are counted, so a long picture in one string costs nothing.
 */
export function crowdedJson(bytes: ArrayBuffer): string | null {
  const text = Buffer.from(bytes);
  let values = 1;
  let depth = 0;
  for (let at = 0; at < text.length; at += 1) {
    const letter = text[at] ?? 0;
    if (letter === quote) at = endOfString(text, at);
    else if (letter === comma) values += 1;
    else if (closers.has(letter)) depth -= 1;
    else if (openers.has(letter)) {
      values += 1;
      depth += 1;
      if (depth > maxDepth) return `The body is nested deeper than ${maxDepth} levels.`;
    }
    if (values > maxValues) return `The body holds more than ${maxValues} values.`;
  }
  return null;
}
