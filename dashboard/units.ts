/** Current densities and areas in the units that the settings name; what is counted stays in A/dm2 and dm2. */

import { densityUnits } from '../daemon/chemistry/density-units.ts';
import type { Notice } from '../daemon/run/model.ts';
import { figure, fitting, sufficing } from '../daemon/run/notices/words.ts';
import { exact, fixed, plain, pretty, range, withUnit, type Figure } from './format.ts';
import { connection } from './connection.ts';

export type DensityUnitId = 'A/dm2' | 'A/ft2' | 'A/in2';

const labels: Readonly<Record<DensityUnitId, string>> = {
  'A/dm2': 'A/dm²',
  'A/ft2': 'A/ft²',
  'A/in2': 'A/in²',
};

/** The area of which a density is told. */
const areas: Readonly<Record<DensityUnitId, string>> = {
  'A/dm2': 'dm²',
  'A/ft2': 'ft²',
  'A/in2': 'in²',
};

/** Three digits at the least, and no more than are meant. */
function digits(value: number): string {
  return fixed(value, value >= 10 ? 1 : value >= 1 ? 2 : 3);
}

function isUnit(text: string): text is DensityUnitId {
  return Object.hasOwn(labels, text);
}

/** The unit of densities that the settings name. */
export function densityUnit(given?: string): DensityUnitId {
  const unitId = given ?? connection.bench?.units?.density ?? 'A/dm2';
  return isUnit(unitId) ? unitId : 'A/dm2';
}

/** "A/ft²", as it stands beside a figure. */
export const densityLabel = (unitId?: string): string => labels[densityUnit(unitId)];

/** "ft²", as it stands beside an area that a density is told of. */
export const areaLabel = (unitId?: string): string => areas[densityUnit(unitId)];

/** A/dm2 in one of the unit. */
export function perDensityUnit(unitId?: string): number {
  const id = densityUnit(unitId);
  return densityUnits.find((one) => one.id === id)?.ampsPerDm2PerUnit ?? 1;
}

/** dm2 in one of the area that a density is told of. */
export const perAreaUnit = (unitId?: string): number => 1 / perDensityUnit(unitId);

/** A density in the unit that the settings name, or in the one that is given. */
export function density(ampsPerDm2: number, given?: string): Figure {
  const unitId = densityUnit(given);
  const unit = labels[unitId];
  if (unitId === 'A/dm2') return { text: fixed(ampsPerDm2, 2), unit };
  return { text: digits(ampsPerDm2 / perDensityUnit(unitId)), unit };
}

export function densityText(ampsPerDm2: number, unitId?: string): string {
  return withUnit(density(ampsPerDm2, unitId));
}

/** The bounds of a range rounded inwards, so that what is named lies inside of it. */
export function densityBounds(
  low: number,
  high: number,
  given?: string,
): readonly [low: string, high: string] {
  const perUnit = perDensityUnit(given);
  return [exact(sufficing(low / perUnit, 3)), exact(fitting(high / perUnit, 3))];
}

export function densityRange(low: number, high: number, unitId?: string): string {
  const [least, most] = densityBounds(low, high, unitId);
  return range(least, withUnit({ text: most, unit: densityLabel(unitId) }));
}

/** A density as it was planned, to three digits and no more than are needed. */
export function plannedDensity(ampsPerDm2: number, given?: string): Figure {
  const unitId = densityUnit(given);
  return { text: plain(ampsPerDm2 / perDensityUnit(unitId), 3), unit: labels[unitId] };
}

export function plannedDensityText(ampsPerDm2: number, unitId?: string): string {
  return withUnit(plannedDensity(ampsPerDm2, unitId));
}

const bareNumber = /^[\d.,]+$/;

/** A typed density with its unit: a bare number is in the one given. */
export function withDensityUnit(text: string, unitId: string): string {
  const trimmed = text.trim();
  return bareNumber.test(trimmed) ? `${trimmed} ${unitId}` : text;
}

/**
 * A typed density as the daemon reads it, which takes a bare number for A/dm2; one that stands in
 * another unit gets it written out.
 */
export function typedDensity(text: string, bareUnit: string): string {
  return bareUnit === 'A/dm2' ? text : withDensityUnit(text, bareUnit);
}

const number = String.raw`(?<![\w.])\d+(?:\.\d+)?(?:e[+-]?\d+)?`;
const mostAhead = /(?:at most|up to|no more than|fits is|take|above the)$/i;
const mostBehind = /^ or less\b/;
const leastAhead = /(?:at least|more than|below (?:the|this bath's))$/i;
const leastBehind = /^ or more\b/;

/** What is named as a bound is rounded to the side that is allowed. */
function rounded(value: number, ahead: string, behind: string): string {
  if (mostAhead.test(ahead) || mostBehind.test(behind)) return String(fitting(value, 3));
  if (leastAhead.test(ahead) || leastBehind.test(behind)) return String(sufficing(value, 3));
  return figure(value);
}

/** A unit of the daemon's sentences and what takes its place. */
interface Exchange {
  readonly from: string;
  readonly to: string;
  readonly perUnit: number;
  /** The bounds that the sentence names to three digits, with all of theirs. */
  readonly window?: Window | undefined;
}

type Window = NonNullable<Notice['windowAmpsPerDm2']>;

/** An end of the window from all of its digits, since rounded twice it would move; null for other figures. */
function windowEnd(typed: string, { perUnit, window }: Exchange): number | null {
  if (window === undefined) return null;
  const [least, most] = window;
  if (Number(typed) === fitting(most, 3)) return fitting(most / perUnit, 3);
  return Number(typed) === sufficing(least, 3) ? sufficing(least / perUnit, 3) : null;
}

/** What was typed in the new unit needs no second telling in it. */
function withoutEchoes(text: string, { from, to }: Exchange): string {
  const typed = `${number} ${to}`;
  const echo = `${number} ${from}`;
  return text
    .replaceAll(new RegExp(`(${typed}) is ${echo},`, 'g'), '$1 is')
    .replaceAll(new RegExp(`(${typed}) (?:is|would be) ${echo}`, 'g'), '$1 is in the window');
}

function exchanged(text: string, exchange: Exchange): string {
  const { from, to, perUnit } = exchange;
  const unit = `(?<![\\w/])${from}(?!\\w)`;
  const value = (typed: string): number => Number(typed) / perUnit;
  const end = (typed: string): number | null => windowEnd(typed, exchange);
  // A figure that was refused stands without its unit, which its bound has.
  const refused = new RegExp(`( is )(${number})(; it must be [^;]*?${number} ${unit})`, 'g');
  const typedHere = new RegExp(`^ is ${number} ${to}`);
  return withoutEchoes(text, exchange)
    .replaceAll(
      refused,
      (_all, is: string, typed: string, rest: string) => `${is}${figure(value(typed), 6)}${rest}`,
    )
    .replaceAll(
      new RegExp(`(${number}) to (${number}) ${unit}`, 'g'),
      (_all, low: string, high: string) =>
        `${end(low) ?? sufficing(value(low), 3)} to ${end(high) ?? fitting(value(high), 3)} ${to}`,
    )
    .replaceAll(
      new RegExp(`(${number}) ${unit}`, 'g'),
      (all: string, typed: string, at: number, whole: string) => {
        const ahead = whole.slice(0, at).trimEnd();
        const behind = whole.slice(at + all.length);
        // What may have been typed in the other unit is told in that one.
        if (ahead.endsWith('was meant,') || typedHere.test(behind)) return all;
        return `${end(typed) ?? rounded(value(typed), ahead, behind)} ${to}`;
      },
    );
}

/**
 * A sentence of the daemon with its densities in the unit that the settings name; `window` has the
 * ends of the bath's window that it names.
 */
export function told(text: string, given?: string, window?: Window): string {
  const to = densityUnit(given);
  if (to === 'A/dm2') return pretty(text);
  return pretty(exchanged(text, { from: 'A/dm2', to, perUnit: perDensityUnit(to), window }));
}

/** Words of a notice, told with the bounds that stand beside them. */
export function toldOfNotice(
  text: string,
  { windowAmpsPerDm2 }: Pick<Notice, 'windowAmpsPerDm2'>,
  given?: string,
): string {
  return told(text, given, windowAmpsPerDm2);
}

/** A density that the daemon offers, as it is typed: in the chosen unit where no other one was meant. */
export function offeredDensity(
  offer: { readonly text: string; readonly clause: string; readonly ampsPerDm2: number },
  given?: string,
): string {
  const { text, clause, ampsPerDm2 } = offer;
  const unitId = densityUnit(given);
  const otherMeant = clause.startsWith('if A/dm2 was meant');
  if (unitId === 'A/dm2' || otherMeant || !text.endsWith('A/dm2')) return text;
  return `${figure(ampsPerDm2 / perDensityUnit(unitId))} ${unitId}`;
}

/** The same of a sentence about the settings, whose areas of anodes go by that unit too. */
export function toldOfSettings(text: string, given?: string): string {
  const unitId = densityUnit(given);
  if (unitId === 'A/dm2') return pretty(text);
  const to = unitId.slice(2);
  return told(exchanged(text, { from: 'dm2', to, perUnit: perAreaUnit(unitId) }), unitId);
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
