/** Ranges, shares and amounts as the ledger writes them. */

import { html, type TemplateResult } from 'lit';
import type { Ranged } from '../../daemon/run/model.ts';
import type { LedgerEntry } from '../../daemon/wire/ledger.ts';
import { figure } from '../element.ts';
import {
  ampHours,
  exact,
  fixed,
  plain,
  range,
  thickness,
  thicknessRange,
  withUnit,
  type Figure,
} from '../format.ts';
import { ledgerWords } from '#words/ledger';

type Dose = Extract<LedgerEntry, { kind: 'addition' }>;

/** A share in percent, without the unit: one decimal is as fine as any balance and meter tell. */
export const percent = (share: number): string => fixed(share * 100, share < 0.0095 ? 2 : 1);

export const percentRange = ({ low, high }: Pick<Ranged, 'low' | 'high'>): string =>
  range(percent(low), `${percent(high)} %`);

/** "97.3 % ± 1.5". */
export const percentWith = (value: number, half: number): string =>
  `${percent(value)} % ± ${percent(half)}`;

export const chargeText = (value: number): string => withUnit(ampHours(value));

/** Grams of anode: the last digit that a kitchen balance shows. */
export const anodeGrams = (grams: number): Figure => ({
  text: fixed(grams, grams >= 1000 ? 0 : 1),
  unit: 'g',
});

export const anodeRange = ({ low, high }: Ranged): string =>
  range(anodeGrams(low).text, withUnit(anodeGrams(high)));

/** An amount that is measured out: two digits are as fine as any syringe. */
export const amountText = (amount: number, unit: string): string => `${plain(amount, 2)} ${unit}`;

/** An amount exactly as it was entered. */
export const exactAmount = (amount: number, unit: string): string => `${exact(amount)} ${unit}`;

/** What was given, and of how much where it was a part of a dose. */
export const givenAmount = ({ amount, plannedAmount, unit }: Dose): string =>
  plannedAmount === undefined
    ? exactAmount(amount, unit)
    : ledgerWords.entry.part(exact(amount), exactAmount(plannedAmount, unit));

export const grown = (micrometres: Ranged): { value: TemplateResult; between: string } => ({
  value: figure(thickness(micrometres.value)),
  between: thicknessRange(micrometres.low, micrometres.high),
});

export const share = (value: number): TemplateResult =>
  html`${figure({ text: percent(value), unit: '%' })}`;
