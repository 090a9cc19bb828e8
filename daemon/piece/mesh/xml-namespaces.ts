/** Which prefix means which namespace at the element where a scanner stands. */

import { textOf } from './text-scanner.ts';
import type { XmlScanner } from './xml.ts';

const longestName = 100;

interface Declared {
  readonly depth: number;
  readonly prefix: string;
  readonly uri: string;
}

export class XmlNamespaces {
  #declared: Declared[] = [];
  /** The namespace of names without a prefix. */
  defaultUri = '';

  /** Takes note of what the element just started declares. */
  enter(xml: XmlScanner): void {
    for (let index = 0; index < xml.attributeCount; index += 1) {
      const start = xml.attributes[4 * index] as number;
      const end = xml.attributes[4 * index + 1] as number;
      // Nearly every attribute is a number's; those are passed over by their first two letters.
      if (end - start < 5 || xml.bytes[start] !== 120 || xml.bytes[start + 1] !== 109) continue;
      const name = textOf(xml.bytes, start, Math.min(end, start + longestName));
      if (name !== 'xmlns' && !name.startsWith('xmlns:')) continue;
      const prefix = name === 'xmlns' ? '' : name.slice(6);
      this.#declared.push({ depth: xml.depth, prefix, uri: xml.attributeText(index) });
      this.defaultUri = this.uriOf('');
    }
  }

  /** Forgets what was declared by elements deeper than this. */
  leave(depth: number): void {
    if ((this.#declared.at(-1)?.depth ?? 0) <= depth) return;
    this.#declared = this.#declared.filter((declared) => declared.depth <= depth);
    this.defaultUri = this.uriOf('');
  }

  /** The namespace of a prefix; empty where it has none. */
  uriOf(prefix: string): string {
    return this.#declared.findLast((declared) => declared.prefix === prefix)?.uri ?? '';
  }

  /** A prefix that stands for the namespace; null where none does. */
  prefixOf(uri: string): string | null {
    return this.#declared.findLast((declared) => declared.uri === uri)?.prefix ?? null;
  }
}
