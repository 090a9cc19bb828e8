/** Kinds of fields in the settings, each with its bound as the message, so that every error names it. */

import { z } from 'zod';

/** A number with both ends closed. */
export function bounded(min: number, max: number, unit: string, description: string) {
  const bound = `a number from ${min} to ${max}${unit === '' ? '' : ` ${unit}`}`;
  return z
    .number({ error: bound })
    .gte(min, { error: bound })
    .lte(max, { error: bound })
    .describe(description);
}

/** A whole number with both ends closed. */
export function wholeNumber(min: number, max: number, description: string) {
  const bound = `a whole number from ${min} to ${max}`;
  return z
    .int({ error: bound })
    .gte(min, { error: bound })
    .lte(max, { error: bound })
    .describe(description);
}

/** Text on one line. */
export function text(longest: number, description: string) {
  const bound = `text of 1 to ${longest} characters on one line`;
  return z
    .string({ error: bound })
    .min(1, { error: bound })
    .max(longest, { error: bound })
    .regex(/^\P{Cc}*$/u, { error: bound })
    .describe(description);
}

/** Text that matches a pattern as a whole. */
export function patterned(pattern: RegExp, bound: string, description: string) {
  return z.string({ error: bound }).regex(pattern, { error: bound }).describe(description);
}
