/** Problems with what was typed: made on the page, and told in the words of the form. */

import type { Problem } from '../daemon/piece/model.ts';
import { typedWords as say } from '#words/typed';

/** A text as a problem shows it. */
export function shownEntry(text: string): string {
  return text.trim() || say.empty;
}

/** A problem of the page's own; `field` is a path until `toldOf` puts a label in its place. */
export function problemOf(field: string, value: string, bound: string, advice = ''): Problem {
  return { field, value, bound, message: `${say.is(field, value, bound)} ${advice}`.trim() };
}

/** A problem in one sentence, with the label of its entry in place of the path. */
export function toldOf({ field, value, bound, message }: Problem, label: string): string {
  const own = say.is(field, value, bound);
  if (message.startsWith(own)) return say.is(label, value, bound) + message.slice(own.length);
  // The daemon's own sentences begin with the path.
  return message.startsWith(field) ? label + message.slice(field.length) : message;
}
