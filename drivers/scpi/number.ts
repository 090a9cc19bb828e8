/** Numbers on the wire: written with fixed digits, read only when the whole reply is a number. */

import { RectifierError } from '../contract.ts';
import { patternOf } from './dialect.ts';
import type { Setting, ValueQuery } from './dialect-schema.ts';

/**
 * NRf of IEEE 488.2 with an optional unit behind it; from memory of the standard. Each digit fits in
 * one place only: a long run of them is refused in one pass.
 */
const NUMBER = /^([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)(?: ?[VA])?$/;
/** SCPI-1999 writes infinity as 9.9E37 and "not a number" as 9.91E37; from memory. */
const NOT_A_READING = 9.9e37;
const MAX_SHOWN = 60;

/** A reply as it is shown in a message: on one line, without control characters, cut short. */
export function showReply(text: string): string {
  const start = JSON.stringify(text.slice(0, MAX_SHOWN)).slice(1, -1);
  const shown = start.replace(/[\x7f-\xff]/g, (byte) => `\\x${byte.charCodeAt(0).toString(16)}`);
  // Bytes that cannot be shown take up to six characters each.
  const cut = text.length > MAX_SHOWN || shown.length > 2 * MAX_SHOWN;
  return `"${shown.slice(0, 2 * MAX_SHOWN)}${cut ? '…' : ''}"`;
}

/** The number that is the whole of `text`, or null. */
function parseNumber(text: string, pattern: string | undefined): number | null {
  const match = (pattern === undefined ? NUMBER : patternOf(pattern)).exec(text);
  const digits = match?.[1] ?? match?.[0];
  if (digits === undefined || digits.trim() === '') return null;
  const value = Number(digits);
  return Number.isFinite(value) ? value : null;
}

/** Throws `garbled` unless the reply has the shape of a number; 9.9E37 has. */
export function checkNumber(query: ValueQuery, text: string): void {
  if (parseNumber(text, query.pattern) === null) {
    const message = `${query.send} was answered by ${showReply(text)}, which is not a number.`;
    throw new RectifierError('garbled', message);
  }
}

/** Volts or amps of a reply that has the shape of a number; throws `garbled` for "no reading". */
export function numberOf(query: ValueQuery, text: string): number {
  const value = parseNumber(text, query.pattern);
  if (value === null || Math.abs(value) >= NOT_A_READING) {
    const message = `${query.send} was answered by ${showReply(text)}: the supply has no reading.`;
    throw new RectifierError('garbled', message);
  }
  return value * query.scale;
}

/** A whole number such as a status register, or null. */
export function parseInteger(text: string): number | null {
  const value = parseNumber(text, undefined);
  return value !== null && Number.isInteger(value) && value >= 0 && value <= 0xffff ? value : null;
}

/** The nearest multiple of `step`; the sum is done in steps, so 5.1 V stays 5.1 V. */
export function roundToStep(value: number, step: number): number {
  return Number((Math.round(value / step) * step).toFixed(9));
}

/** The command that sets `value` volts or amps. */
export function settingText(setting: Setting, value: number): string {
  const digits = (value / setting.scale).toFixed(setting.digits);
  return setting.send.replace('{v}', digits.padStart(setting.width ?? 0, '0'));
}
