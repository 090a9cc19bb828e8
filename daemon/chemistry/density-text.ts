/** Reads a current density as a maker types it: a number, and a unit or none. */

import { densityUnits } from './density-units.ts';

/** A density as it was typed, and what it means. */
export interface TypedDensity {
  /** As typed, without the spaces around it. */
  readonly text: string;
  readonly value: number;
  /** One of `typedUnits`. */
  readonly unitId: string;
  readonly ampsPerDm2: number;
}

/** Either the density, or what it must be and why it is not. */
export type DensityReading =
  | { readonly ok: true; readonly density: TypedDensity }
  | { readonly ok: false; readonly bound: string; readonly advice: string };

/** A/dm2 in one of each unit that may be typed: those of the page, and two more of the SI. */
export const typedUnits: Readonly<Record<string, number>> = {
  ...Object.fromEntries(densityUnits.map(({ id, ampsPerDm2PerUnit }) => [id, ampsPerDm2PerUnit])),
  'A/m2': 0.01,
  'A/cm2': 100,
};

// Shorthands of the trade for amperes per square foot and per square decimetre.
const shorthands: Readonly<Record<string, string>> = { asf: 'a/ft2', asd: 'a/dm2' };

/** The unit in one spelling: `A per sq. in`, `amps/in²` and `A/in^2` all become `a/in2`. */
function plainUnit(text: string): string {
  const plain = text
    .toLowerCase()
    .replaceAll('²', '2')
    .replaceAll(/[\s.^*·]/g, '')
    .replace(/^(m?)(?:amperes?|amps?)/, '$1a')
    .replace('per', '/')
    .replace(/\/(?:sq|square)(dm|in|inch|ft|foot|cm|m)$/, '/$12')
    .replace(/inch2?$/, 'in2')
    .replace(/foot2?$/, 'ft2');
  return shorthands[plain] ?? plain;
}

const unitPairs = Object.keys(typedUnits).map((id) => [id.toLowerCase(), id] as const);
const unitOf: ReadonlyMap<string, string> = new Map([['', 'A/dm2'], ...unitPairs]);

type Amount = number | 'none' | 'unclear';

function amountOf(text: string): Amount {
  if (/^\d{1,9}(?:\.\d{0,12})?$|^\.\d{1,12}$/.test(text)) return Number(text);
  const comma = /^(\d{1,9}),(\d{1,12})$/.exec(text);
  if (comma === null) return 'none';
  const [, whole = '', rest = ''] = comma;
  // 1,500 is one and a half to some and fifteen hundred to others: guessing would be a factor of 1000.
  return rest.length === 3 && !/^0+$/.test(whole) ? 'unclear' : Number(`${whole}.${rest}`);
}

/**
 * The density that a text means: `1.5`, `0.1 A/in2`, `15 A/ft2`, `12 mA/cm2`; A/dm2 where no unit
 * stands. A decimal comma is read where it can mean nothing else.
 */
export function readDensityText(text: string): DensityReading {
  const trimmed = text.trim();
  const [, number = '', unit = ''] = /^([\d.,]*)(.*)$/s.exec(trimmed) ?? [];
  const value = amountOf(number);
  if (value === 'unclear') {
    const bound = 'a number that can be read in one way only';
    return {
      ok: false,
      bound,
      advice: `Write ${number.replace(',', '.')} or ${number.replace(',', '')}.`,
    };
  }
  if (value === 'none' || value === 0) {
    const bound = 'a number above 0 and a unit, such as 0.1 A/in2';
    return { ok: false, bound, advice: 'Without a unit it is taken as A/dm2.' };
  }
  const unitId = unitOf.get(plainUnit(unit));
  const factor = unitId === undefined ? undefined : typedUnits[unitId];
  if (unitId === undefined || factor === undefined) {
    const bound = `in one of ${Object.keys(typedUnits).join(', ')}`;
    return {
      ok: false,
      bound,
      advice: `"${unit.trim().slice(0, 20)}" is no unit of current density.`,
    };
  }
  const density = { text: trimmed, value, unitId, ampsPerDm2: value * factor };
  return { ok: true, density };
}
