/** How numbers are written in notices: few digits, units that a workshop uses. */

import type { Notice, NoticeSeverity } from '../model.ts';

/** A number with so many significant digits and no trailing zeros. */
export function figure(value: number, digits = 3): string {
  return String(Number(value.toPrecision(digits)));
}

// A bound that was typed in another unit comes back a rounding error out, which is no step.
const roundingError = 1e-9;

function toDigits(value: number, digits: number, round: (scaled: number) => number): number {
  const nearest = Number(value.toPrecision(digits));
  if (Math.abs(value - nearest) <= roundingError * Math.abs(value)) {
    return nearest;
  }
  const scale = 10 ** (digits - 1 - Math.floor(Math.log10(Math.abs(value))));
  return Number((round(value * scale) / scale).toPrecision(digits));
}

/** The largest number of so many digits that is not above a value but for 1e-9 of it: what still fits. */
export function fitting(value: number, digits = 2): number {
  return toDigits(value, digits, Math.floor);
}

/** The smallest number of so many digits that is not below a value but for 1e-9 of it: what suffices. */
export function sufficing(value: number, digits = 2): number {
  return toDigits(value, digits, Math.ceil);
}

export function amps(value: number): string {
  return value < 0.1 ? `${figure(value * 1000)} mA` : `${figure(value)} A`;
}

export function density(ampsPerDm2: number): string {
  return `${figure(ampsPerDm2)} A/dm2`;
}

/** A density to three digits that is not above the bound that it stands for. */
export function mostDensity(ampsPerDm2: number): string {
  return density(fitting(ampsPerDm2, 3));
}

/** A density to three digits that is not below the bound that it stands for. */
export function leastDensity(ampsPerDm2: number): string {
  return density(sufficing(ampsPerDm2, 3));
}

/** A thickness in micrometres: three digits where it was entered, two where it is estimated. */
export function micrometres(value: number, digits = 3): string {
  return `${figure(value, digits)} µm`;
}

export function hours(durationMs: number): string {
  const minutes = durationMs / 60_000;
  return minutes < 90 ? `${figure(minutes, 2)} min` : `${figure(minutes / 60)} h`;
}

export function percent(share: number): string {
  return `${figure(share * 100, 2)} %`;
}

/** What a notice says beside how grave it is. */
export type NoticeText = Omit<Notice, 'severity' | 'code'>;

/** A list with one notice, as every check returns it. */
export function notice(
  severity: NoticeSeverity,
  code: string,
  text: NoticeText,
): readonly Notice[] {
  return [{ severity, code, ...text }];
}

/** A check that has nothing to say. */
export const silent: readonly Notice[] = [];
