/** The course that the plan of a run foresees, through every change of the plan. */

import { planCurve, type PlanCurve } from './forecast.ts';
import type { Plan } from './model.ts';

/** A plan from a moment of the run on, with what had grown by then. */
export interface PlanStretch {
  readonly plan: Plan;
  /** From the start of the run, ms. */
  readonly fromMs: number;
  readonly grownMicrometres: number;
}

const pointsOfStretch = 240;

/** A value of a column on the line between its neighbours, by the place in a rising column. */
function valueAt(rising: readonly number[], column: readonly number[], value: number): number {
  let low = 0;
  let high = rising.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((rising[middle] ?? 0) <= value) low = middle;
    else high = middle;
  }
  const from = rising[low] ?? 0;
  const to = rising[high] ?? from;
  const share = to > from ? Math.min(1, Math.max(0, (value - from) / (to - from))) : 0;
  const start = column[low] ?? 0;
  return start + ((column[high] ?? start) - start) * share;
}

/** The stretches of a run: its plan as armed, and each that took its place. */
export function stretchesOf(
  plan: Plan,
  changes: readonly { readonly atMs: number | null; readonly planBefore: Plan }[],
  grownAt: (atMs: number) => number,
): readonly PlanStretch[] {
  const plans = [...changes.map(({ planBefore }) => planBefore), plan];
  return plans.map((one, index) => {
    const fromMs = changes[index - 1]?.atMs ?? 0;
    return { plan: one, fromMs, grownMicrometres: grownAt(fromMs) };
  });
}

/**
 * Current, charge and thickness foreseen for each moment, ms from the start of the run; where a plan
 * takes the place of another there are two rows of one moment. A plan that is taken up with metal there
 * already begins where it would have that much.
 */
export function plannedCourse(stretches: readonly PlanStretch[]): PlanCurve {
  const rows = stretches.flatMap(({ plan, fromMs, grownMicrometres }, index) => {
    const curve = planCurve(plan, pointsOfStretch);
    const { atMs, thicknessMicrometres: grown } = curve;
    const offsetMs = grownMicrometres > 0 ? valueAt(grown, atMs, grownMicrometres) : 0;
    const toMs = stretches[index + 1]?.fromMs ?? Infinity;
    const endMs = Math.min(toMs, fromMs + (atMs.at(-1) ?? 0) - offsetMs);
    const row = (at: number) => {
      const within = at - fromMs + offsetMs;
      return {
        at,
        amps: valueAt(atMs, curve.amps, within),
        ampHours: valueAt(atMs, curve.ampHours, within),
        grown: valueAt(atMs, grown, within),
      };
    };
    const inside = atMs
      .map((at) => at - offsetMs + fromMs)
      .filter((at) => at > fromMs && at < endMs);
    return [fromMs, ...inside, endMs].map(row);
  });
  return {
    atMs: rows.map(({ at }) => at),
    amps: rows.map(({ amps }) => amps),
    ampHours: rows.map(({ ampHours }) => ampHours),
    thicknessMicrometres: rows.map(({ grown }) => grown),
  };
}
