/** Ranges, shares and amounts as the ledger writes them. */

import { html, type TemplateResult } from 'lit';
import type { Ranged } from '../../daemon/run/model.ts';
import { figure } from '../element.ts';
import { ampHours, clock, day, plain, thickness, thicknessRange } from '../format.ts';

/** A share in percent, without the unit: one decimal is as fine as any balance and meter tell. */
export const percent = (share: number): string => (share * 100).toFixed(share < 0.0095 ? 2 : 1);

export const percentRange = ({ low, high }: Pick<Ranged, 'low' | 'high'>): string =>
  `${percent(low)} to ${percent(high)} %`;

/** "97.3 % ± 1.5". */
export const percentWith = (value: number, half: number): string =>
  `${percent(value)} % ± ${percent(half)}`;

export const withUnit = ({ text, unit }: { text: string; unit: string }): string =>
  `${text} ${unit}`;

export const chargeText = (value: number): string => withUnit(ampHours(value));

/** Grams of anode: the last digit that a kitchen balance shows. */
export const anodeGrams = (grams: number): string =>
  `${grams >= 1000 ? grams.toFixed(0) : grams.toFixed(1)} g`;

export const anodeRange = ({ low, high }: Ranged): string =>
  `${anodeGrams(low).replace(' g', '')} to ${anodeGrams(high)}`;

/** An amount that is measured out: two digits are as fine as any syringe. */
export const amountText = (amount: number, unit: string): string => `${plain(amount, 2)} ${unit}`;

/** An amount exactly as it was entered. */
export const exactAmount = (amount: number, unit: string): string => `${amount} ${unit}`;

export const when = (wallMs: number): string => `${day(wallMs)}, ${clock(wallMs)}`;

export const grown = (micrometres: Ranged): { value: TemplateResult; range: string } => ({
  value: figure(thickness(micrometres.value)),
  range: thicknessRange(micrometres.low, micrometres.high),
});

export const share = (value: number): TemplateResult =>
  html`${figure({ text: percent(value), unit: '%' })}`;
