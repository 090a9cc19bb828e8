/** What several weigh-ins say together: a median that one bad weighing cannot move, and its spread. */

/** One weigh-in's figure with its own range. */
export interface Sample {
  readonly value: number;
  readonly low: number;
  readonly high: number;
}

/** Several of them together. */
export interface RunningFigure {
  readonly count: number;
  /** The median. */
  readonly value: number;
  /**
   * Spread between the weigh-ins as a standard deviation: 1.4826 times the median distance from the
   * median, which is the standard deviation where the distances are normal.
   */
  readonly spread: number;
  /** Half width of the range in which the next one is expected. */
  readonly halfWidth: number;
}

/** Older weigh-ins are left out: a bath changes. */
export const newestSamples = 12;
/** With fewer than this the spread is not known yet. */
const enough = 3;
/** 1 / (inverse normal distribution at 0.75). */
const madToDeviation = 1.4826;

function median(values: readonly number[]): number {
  const sorted = values.toSorted((first, second) => first - second);
  const middle = Math.floor(sorted.length / 2);
  const upper = sorted[middle] ?? Number.NaN;
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] ?? upper) + upper) / 2;
}

/**
 * The newest first; null for none. The half width is twice the spread, or the half width that the
 * weigh-ins have themselves where that is larger; while there are fewer than three of them it is at
 * least `untilKnown`, what is believed without any.
 */
export function runningFigure(
  samples: readonly Sample[],
  untilKnown: number,
): RunningFigure | null {
  const newest = samples.slice(0, newestSamples);
  if (newest.length === 0) return null;
  const value = median(newest.map((one) => one.value));
  const spread = madToDeviation * median(newest.map((one) => Math.abs(one.value - value)));
  const own = median(newest.map(({ low, high }) => (high - low) / 2));
  const floor = newest.length < enough ? untilKnown : 0;
  return { count: newest.length, value, spread, halfWidth: Math.max(2 * spread, own, floor) };
}
