/** Reads figures as they are typed: with a point or a comma; a problem names the field and the text. */

import type { Problem } from '../../daemon/piece/model.ts';
import { typedWords as say } from '#words/typed';

/** The number that a text means, or null for anything else. */
export function typedNumber(text: string): number | null {
  const plain = text.trim().replace(',', '.');
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null;
}

/** A figure as a field shows it: all the digits that were saved, and no more. */
export const shown = (value: number | null): string => (value === null ? '' : String(value));

/** Collects what cannot be read, field by field. */
export class Figures {
  readonly problems: Problem[] = [];

  /** A figure that has to be there; 0 stands in for one that cannot be read. */
  needed(field: string, label: string, text: string): number {
    const value = typedNumber(text);
    if (value !== null) return value;
    const what = text.trim() || say.empty;
    const message = say.is(label, what, say.number);
    this.problems.push({ field, value: what, bound: say.number, message });
    return 0;
  }

  /** A name that has to be there and is not. */
  nameless(field: string, label: string): void {
    const message = say.is(label, say.empty, say.name);
    this.problems.push({ field, value: say.empty, bound: say.name, message });
  }

  /** A figure that may be left out. */
  optional(field: string, label: string, text: string): number | null {
    return text.trim() === '' ? null : this.needed(field, label, text);
  }
}
