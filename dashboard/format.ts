/** Numbers, durations, dates, times and lists as the pages write them, by the rules of their language. */

import { figureWords as say } from '#words/figures';

/** A number and its unit, apart so that the unit can be set smaller. */
export interface Figure {
  readonly text: string;
  readonly unit: string;
}

/** What stands where there is no figure. */
export const noFigure = '–';

const signs: Intl.NumberFormat[] = [];

/** Digits as a computer writes them, with the decimal sign and the numerals of the language. */
function localized(digits: string): string {
  const places = digits.split('.')[1]?.length ?? 0;
  const format = (signs[places] ??= new Intl.NumberFormat(say.locale, {
    minimumFractionDigits: places,
    useGrouping: false,
  }));
  // As text, so that no digit is rounded another time.
  return format.format(digits as `${number}`);
}

/** With so many places after the decimal sign. */
export function fixed(value: number, places: number): string {
  return Number.isFinite(value) ? localized(value.toFixed(places)) : noFigure;
}

/** With all the digits that it has. */
export function exact(value: number): string {
  return Number.isFinite(value) ? localized(String(value)) : noFigure;
}

/** A count of many things, its thousands set apart. */
export function many(count: number): string {
  return count.toLocaleString(say.locale);
}

/** Names one after the other. */
export function list(names: readonly string[]): string {
  return new Intl.ListFormat(say.locale, { type: 'unit', style: 'short' }).format(names);
}

/** Two figures as a range; the second one brings the unit. */
export const range = say.range;

/** A figure and its unit as one text. */
export function withUnit({ text, unit }: Figure): string {
  return `${text} ${unit}`;
}

function significant(value: number, digits: number): string {
  if (value === 0) {
    return '0';
  }
  const exponent = Math.floor(Math.log10(Math.abs(value)));
  // Rounding may carry into the next decade (99.6 to 100), so the exponent is read again.
  const rounded = Number(value.toPrecision(digits));
  const shown = Math.floor(Math.log10(Math.abs(rounded)));
  return fixed(rounded, Math.max(0, digits - 1 - Math.max(exponent, shown)));
}

/**
 * An estimated thickness to two digits, from 100 on in steps of 5 in the third, so that a target
 * of 135 is met by 135; from 1000 on in millimetres, below 1 to one decimal.
 */
export function thickness(micrometres: number): Figure {
  if (!Number.isFinite(micrometres)) {
    return { text: noFigure, unit: 'µm' };
  }
  const size = Math.abs(micrometres);
  if (size < 1) {
    return { text: fixed(micrometres, 1), unit: 'µm' };
  }
  if (size < 99.5) {
    return { text: significant(micrometres, 2), unit: 'µm' };
  }
  const step = 5 * 10 ** (Math.floor(Math.log10(Math.max(100, size * 1.0025))) - 2);
  const rounded = Math.round(micrometres / step) * step;
  return Math.abs(rounded) < 1000
    ? { text: exact(rounded), unit: 'µm' }
    : { text: fixed(rounded / 1000, step < 500 ? 2 : 1), unit: 'mm' };
}

/** A target: as it was asked for, to four digits; one that follows from a charge is an estimate. */
export function targetThickness(micrometres: number): string {
  const asked = Number(micrometres.toPrecision(4));
  if (Math.abs(asked - micrometres) > 1e-6 * micrometres) {
    return withUnit(thickness(micrometres));
  }
  return asked < 1000 ? `${exact(asked)} µm` : `${exact(asked / 1000)} mm`;
}

/** Two estimates, the unit once where it is the same: "120 to 140 µm". */
export function thicknessRange(lowMicrometres: number, highMicrometres: number): string {
  const high = thickness(highMicrometres);
  const low = thickness(lowMicrometres);
  return range(low.unit === high.unit ? low.text : withUnit(low), withUnit(high));
}

/** Grams to three digits. */
export function mass(grams: number): Figure {
  const text = Number.isFinite(grams)
    ? Math.abs(grams) < 0.001
      ? '0'
      : significant(grams, 3)
    : noFigure;
  return { text, unit: 'g' };
}

/** Amps with three decimals, or two from 10 A on. */
export function amps(value: number): Figure {
  return {
    text: fixed(value, value < 9.9995 ? 3 : 2),
    unit: 'A',
  };
}

export function volts(value: number): Figure {
  return { text: fixed(value, 2), unit: 'V' };
}

/** Ohms to three digits; none without current. */
export function ohms(value: number | null): Figure {
  return {
    text: value !== null && Number.isFinite(value) ? significant(value, 3) : noFigure,
    unit: 'Ω',
  };
}

export function ampHours(value: number): Figure {
  return {
    text: fixed(value, value < 99.995 ? 2 : 1),
    unit: 'A·h',
  };
}

/** Three digits, for an area or a density. */
export function threeDigits(value: number): string {
  return Number.isFinite(value) ? significant(value, 3) : noFigure;
}

/** A duration in its two largest parts: "4 h 12 min", "12 min", "45 s". */
export function duration(ms: number): string {
  if (!Number.isFinite(ms)) {
    return noFigure;
  }
  const seconds = Math.max(0, Math.round(ms / 1000));
  if (seconds < 60) {
    return say.seconds(seconds);
  }
  const minutes = Math.round(seconds / 60);
  if (minutes < 60) {
    return say.minutes(minutes);
  }
  return say.hours(Math.floor(minutes / 60), two(minutes % 60));
}

/** To so many digits without the zeros at its end: 2, 1.5, 0.9. */
export function plain(value: number, digits = 2): string {
  return exact(Number(value.toPrecision(digits)));
}

const two = (value: number): string => String(value).padStart(2, '0');

function dated(options: Intl.DateTimeFormatOptions): (wallMs: number) => string {
  const format = new Intl.DateTimeFormat(say.locale, options);
  return (wallMs) => (Number.isFinite(wallMs) ? format.format(wallMs) : noFigure);
}

/** "06:41", in the zone of this device. */
export const clock = dated({ timeStyle: 'short', hourCycle: 'h23' });

/** "06:41:03". */
export const clockSeconds = dated({ timeStyle: 'medium', hourCycle: 'h23' });

/** "25 Nov 2026". */
export const day = dated({ dateStyle: 'medium' });

/** "25 Nov 2026, 06:41". */
export function dayAndTime(wallMs: number): string {
  return list([day(wallMs), clock(wallMs)]);
}

/** Hours, minutes and seconds since a start: "7:04:09". */
export function elapsed(ms: number): string {
  const seconds = Math.max(0, Math.floor(ms / 1000));
  return `${Math.floor(seconds / 3600)}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
}

/** A sentence of the daemon with its "dm2" as "dm²", and no number parted from its unit. */
export function pretty(text: string): string {
  return text
    .replaceAll(/\b([dcm]m|in|ft)2\b/g, '$1²')
    .replaceAll(/(\d) (?=(h|min|s|A|V|W|µm|mm|%|[dc]m)\b)/g, '$1\u00a0');
}
