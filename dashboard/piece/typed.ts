/** Reads what people type into fields: numbers, shares and lengths, with a problem for what it is not. */

import { parseWireDiameterMm } from '../../daemon/piece/gauges.ts';
import type { Problem } from '../../daemon/piece/model.ts';
import { numberOf, tidied } from '../../daemon/piece/typed-numbers.ts';
import { problemOf, shownEntry } from '../problem.ts';
import { typedWords as say } from '#words/typed';

/** A number as people type it, with a point or a comma; NaN for anything else. */
export function numberFrom(text: string): number {
  const plain = text.trim().replace(',', '.');
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(plain) ? Number(plain) : Number.NaN;
}

/** A number as a field shows it, to six digits. */
export const short = (value: number): string => String(Number(value.toPrecision(6)));

const millimetresIn: Readonly<Record<string, number>> = {
  µm: 0.001,
  um: 0.001,
  mm: 1,
  cm: 10,
  in: 25.4,
  inch: 25.4,
  inches: 25.4,
  '"': 25.4,
  '″': 25.4,
};

/**
 * A length in mm from typed text: a bare number is millimetres; `1/4 in`, `3 cm` and, where the
 * field is the diameter of a wire, `18 AWG` are turned into them. NaN for anything else.
 */
export function lengthMmFrom(text: string, isWire = false): number {
  const bare = numberFrom(text);
  if (!Number.isNaN(bare)) return bare;
  const plain = tidied(text);
  if (isWire && /awg|swg/.test(plain)) {
    const wire = parseWireDiameterMm(text);
    return wire.ok ? wire.value : Number.NaN;
  }
  const parts = /^(.+?) ?(µm|um|mm|cm|in|inch|inches|"|″)$/.exec(plain.replaceAll('μ', 'µ'));
  const number = numberOf(parts?.[1] ?? plain);
  return number === null ? Number.NaN : number * (millimetresIn[parts?.[2] ?? 'mm'] ?? Number.NaN);
}

/** Reads numbers, keeping a problem for each that cannot be read or leaves its bounds. */
export class Reader {
  readonly problems: Problem[] = [];

  number(
    field: string,
    text: string,
    bound: string = say.number,
    min = -Infinity,
    max = Infinity,
  ): number {
    return this.#judged(field, text, numberFrom(text), bound, min, max);
  }

  /** Entered in percent, asked for as a share. */
  share(field: string, text: string, most: number, least = 0): number {
    return this.number(field, text, say.percentage(least, most), least, most) / 100;
  }

  /** Entered in millimetres, in another unit of length, or as a wire gauge; read in mm. */
  length(field: string, text: string, isWire = false): number {
    const bound = isWire ? say.numberOrGauge : say.number;
    return this.#judged(field, text, lengthMmFrom(text, isWire), bound, -Infinity, Infinity);
  }

  #judged(
    field: string,
    text: string,
    value: number,
    bound: string,
    min: number,
    max: number,
  ): number {
    if (!(value >= min && value <= max)) {
      this.problems.push(problemOf(field, shownEntry(text), bound));
    }
    return value;
  }
}
