/** The marks of a grown section: a ring for each hour of growth, a gap for each lift, and its range. */

import type { Lifecycle, Ranged } from './model.ts';

/** Thicknesses, in micrometres, at which the picture of a run gets a mark. */
export interface GrowthMarks {
  readonly hours: readonly number[];
  readonly lifts: readonly number[];
}

/** The columns of a run's curve that its marks follow from; times in ms from its start. */
export interface GrowthColumns {
  readonly atMs: readonly number[];
  readonly thicknessMicrometres: readonly number[];
  readonly lifecycle: readonly Lifecycle[];
}

const growing: ReadonlySet<Lifecycle> = new Set(['striking', 'ramping', 'holding', 'trickling']);
const hourMs = 3_600_000;

/** The rings and gaps of the metal grown up to a time. Hours count only while metal grows. */
export function growthMarks(columns: GrowthColumns, untilMs: number): GrowthMarks {
  const { atMs, thicknessMicrometres: grown, lifecycle } = columns;
  const hours: number[] = [];
  const lifts: number[] = [];
  let grownMs = 0;
  for (let index = 1; index < atMs.length; index += 1) {
    const from = atMs[index - 1] ?? 0;
    const to = atMs[index] ?? 0;
    if (to > untilMs) break;
    const here = grown[index] ?? 0;
    const before = grown[index - 1] ?? 0;
    if (lifecycle[index] === 'lifted' && lifecycle[index - 1] !== 'lifted') lifts.push(here);
    if (!growing.has(lifecycle[index] ?? 'planned')) continue;
    const next = grownMs + to - from;
    for (let hour = hours.length + 1; hour * hourMs <= next; hour += 1) {
      hours.push(before + ((here - before) * (hour * hourMs - grownMs)) / (to - from));
    }
    grownMs = next;
  }
  return { hours, lifts };
}

/** A thickness with the share of uncertainty that the plan has at its target. */
export function withPlanRange(value: number, planned: Ranged): Ranged {
  const share = planned.value > 0 ? value / planned.value : 0;
  return {
    value,
    low: Math.max(0, value - (planned.value - planned.low) * share),
    high: value + (planned.high - planned.value) * share,
  };
}
