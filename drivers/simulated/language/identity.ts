/** How the supplies say who they are, and the way numbers are written in their replies. */

import type { Shown } from '../meter.ts';
import type { Supply } from '../supply.ts';

/** Four fields as `*IDN?` answers them, or whatever a fault says instead. */
export function fourFieldIdentity(supply: Supply): string {
  const wrong = supply.faults.get('wrongIdentity');
  if (wrong !== undefined) return wrong.text;
  const { maker, model, serial, firmware } = supply.model;
  return `${maker},${model},${serial},${firmware}`;
}

/** One unstructured word. */
export function oneWordIdentity(supply: Supply): string {
  const wrong = supply.faults.get('wrongIdentity');
  if (wrong !== undefined) return wrong.text;
  const { maker, model, serial } = supply.model;
  return `${maker}-${model}-${serial}`;
}

/** Fixed decimals (NR2), or the text that stands in place of a reading. */
export function fixedDecimals(value: Shown, digits: number): string {
  return typeof value === 'string' ? value : value.toFixed(digits);
}

/** Sign, six decimals and a two-digit exponent (NR3): `+1.234000E+00`. */
export function withExponent(value: Shown): string {
  if (typeof value === 'string') return value;
  const [mantissa = '0', exponent = '+0'] = value.toExponential(6).split('e');
  const digits = exponent.slice(1).padStart(2, '0');
  const sign = value < 0 ? '' : '+';
  return `${sign}${mantissa}E${exponent[0] ?? '+'}${digits}`;
}
