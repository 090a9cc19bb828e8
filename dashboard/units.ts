/** Current densities in the units that the settings name; what is counted stays in A/dm2. */

import { fromAmpsPerDm2 } from '../daemon/chemistry/density-units.ts';
import { fixed, range, withUnit, type Figure } from './format.ts';
import { connection } from './connection.ts';

const labels: Readonly<Record<string, string>> = { 'A/ft2': 'A/ft²', 'A/in2': 'A/in²' };

/** Three digits at the least, and no more than are meant. */
function digits(value: number): string {
  return fixed(value, value >= 10 ? 1 : value >= 1 ? 2 : 3);
}

/** A density in the unit that the settings name, or in the one that is given. */
export function density(ampsPerDm2: number, given?: string): Figure {
  const unitId = given ?? connection.bench?.units?.density;
  const label = labels[unitId ?? ''];
  if (unitId === undefined || label === undefined) {
    return { text: fixed(ampsPerDm2, 2), unit: 'A/dm²' };
  }
  return { text: digits(fromAmpsPerDm2(ampsPerDm2, unitId)), unit: label };
}

export function densityText(ampsPerDm2: number, unitId?: string): string {
  return withUnit(density(ampsPerDm2, unitId));
}

export function densityRange(low: number, high: number, unitId?: string): string {
  return range(density(low, unitId).text, densityText(high, unitId));
}

/** The unit of sizes that the settings name. */
export function sizeUnit(): 'mm' | 'in' {
  return connection.bench?.units?.length ?? 'mm';
}

/** The gauge in which wires are told; null tells them in each. */
export function wireScale(): 'awg' | 'swg' | null {
  const wire = connection.bench?.units?.wire ?? 'mm';
  return wire === 'mm' ? null : wire;
}
