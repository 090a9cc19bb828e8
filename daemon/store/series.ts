/** Columns for charts: many readings in few buckets, with the spikes kept. */

import type { Series } from '../wire/run.ts';
import type { LifecycleNames } from './lifecycle-codes.ts';
import { fold, type Summary } from './summary.ts';

/** The stretch of time that the buckets share out evenly. */
export interface SeriesSpan {
  readonly fromMs: number;
  readonly toMs: number;
  readonly buckets: number;
}

/** The bucket that a time lies in, from 0. */
function bucketOf(atMs: number, { fromMs, toMs, buckets }: SeriesSpan): number {
  if (toMs <= fromMs) return 0;
  return Math.min(buckets - 1, Math.floor(((atMs - fromMs) / (toMs - fromMs)) * buckets));
}

/**
 * Folds stretches, in the order in which they were stored, into buckets. With `span` null every
 * stretch is a bucket of its own. The end of a bucket is its last reading's time; buckets end ever
 * later, because what does not end later than the one before is folded into it.
 */
export function bucketed(stretches: Iterable<Summary>, span: SeriesSpan | null): Summary[] {
  const buckets: Summary[] = [];
  let current: Summary | undefined;
  let index = 0;
  for (const stretch of stretches) {
    const own = span === null ? index + 1 : bucketOf(stretch.toMs, span);
    if (current === undefined || (own > index && stretch.toMs > current.toMs)) {
      current = stretch;
      index = own;
      buckets.push(current);
    } else {
      fold(current, stretch);
    }
  }
  return buckets;
}

export function toSeries(
  runId: string,
  buckets: readonly Summary[],
  names: LifecycleNames,
): Series {
  return {
    runId,
    atMs: buckets.map(({ toMs }) => toMs),
    volts: buckets.map(({ sumVolts, minVolts, maxVolts, count }) =>
      meanWithin(sumVolts / count, minVolts, maxVolts),
    ),
    minVolts: buckets.map(({ minVolts }) => minVolts),
    maxVolts: buckets.map(({ maxVolts }) => maxVolts),
    amps: buckets.map(({ sumAmps, minAmps, maxAmps, count }) =>
      meanWithin(sumAmps / count, minAmps, maxAmps),
    ),
    minAmps: buckets.map(({ minAmps }) => minAmps),
    maxAmps: buckets.map(({ maxAmps }) => maxAmps),
    setAmps: buckets.map(({ setAmps }) => setAmps),
    ampHours: buckets.map(({ ampHours }) => ampHours),
    thicknessMicrometres: buckets.map(({ thicknessMicrometres }) => thicknessMicrometres),
    lifecycle: buckets.map(({ lifecycle }) => names.of(lifecycle)),
  };
}

/** A sum rounds in its last digit; a mean outside what it is the mean of would look like a fault. */
function meanWithin(mean: number, least: number, greatest: number): number {
  return Math.min(greatest, Math.max(least, mean));
}
