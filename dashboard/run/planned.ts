/** The course that the plan foresees, as the daemon tells it, read off for any moment. */

import type { PlanCurve } from '../../daemon/run/forecast.ts';

/** What was foreseen for one moment; all null before the start and after the foreseen end. */
export interface Foreseen {
  readonly amps: number | null;
  readonly ampHours: number | null;
  readonly thicknessMicrometres: number | null;
}

const nothing: Foreseen = { amps: null, ampHours: null, thicknessMicrometres: null };

/** Where two rows have one moment, the later counts from there on. */
export function foreseen(course: PlanCurve, atMs: number): Foreseen {
  const { atMs: times } = course;
  const first = times[0];
  const last = times.at(-1);
  if (first === undefined || last === undefined || atMs < first || atMs > last) return nothing;
  let low = 0;
  let high = times.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((times[middle] ?? 0) <= atMs) low = middle;
    else high = middle;
  }
  const from = times[low] ?? 0;
  const to = times[high] ?? from;
  const share = to > from ? Math.min(1, (atMs - from) / (to - from)) : 1;
  const at = (column: readonly number[]): number => {
    const start = column[low] ?? 0;
    return start + ((column[high] ?? start) - start) * share;
  };
  return {
    amps: at(course.amps),
    ampHours: at(course.ampHours),
    thicknessMicrometres: at(course.thicknessMicrometres),
  };
}
