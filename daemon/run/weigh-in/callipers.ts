/** Mean thickness from calliper readings, with the range that step and spread leave. */

import type { Ranged } from '../model.ts';
import type { CalliperReading } from './model.ts';

/** Fewer places say nothing about the mean of a deposit that is never quite even (common practice). */
export const fewestReadings = 3;

/**
 * Student's t for 95 % both ways by degrees of freedom, from 1 on (NIST/SEMATECH e-Handbook of
 * Statistical Methods, 1.3.6.7.2); beyond the table 2 is close enough.
 */
const studentT = [
  12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.16, 2.145,
  2.131, 2.12, 2.11, 2.101, 2.093, 2.086, 2.08, 2.074, 2.069,
];

/** Growth at one place, mm; below 0 where the reading went the wrong way. */
export function growthMm({ beforeMm, afterMm, growthPerThickness }: CalliperReading): number {
  return (afterMm - beforeMm) / growthPerThickness;
}

/**
 * Mean thickness of at least three readings, mm. Two readings of one place are each right to half a
 * step, so their difference is right to a whole one; that half width is common to all places and
 * does not average out. To it comes the doubt of the mean from the spread between the places. Null
 * for fewer readings, and where the mean is not above 0.
 */
export function calliperThicknessMm(
  readings: readonly CalliperReading[],
  stepMm: number,
): Ranged | null {
  const count = readings.length;
  if (count < fewestReadings) return null;
  const grown = readings.map(growthMm);
  const mean = grown.reduce((sum, one) => sum + one, 0) / count;
  if (!(mean > 0)) return null;
  const variance = grown.reduce((sum, one) => sum + (one - mean) ** 2, 0) / (count - 1);
  const spreadMm = (studentT[count - 2] ?? 2) * Math.sqrt(variance / count);
  const steps = readings.map(({ growthPerThickness }) => stepMm / Math.abs(growthPerThickness));
  const stepHalfMm = steps.reduce((sum, one) => sum + one, 0) / count;
  const halfMm = Math.hypot(stepHalfMm, spreadMm);
  return { value: mean, low: Math.max(0, mean - halfMm), high: mean + halfMm };
}
