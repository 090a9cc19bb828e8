/** The course that the plan foresees, laid behind the measured curves: through every change of the plan. */

import { planCurve, type PlanCurve } from '../../daemon/run/forecast.ts';
import type { Plan } from '../../daemon/run/model.ts';

/** A plan from a moment of the run on, with what had grown by then. */
export interface PlanStretch {
  readonly plan: Plan;
  readonly fromMs: number;
  readonly grownMicrometres: number;
}

/** What was foreseen for one moment; all null before the start and after the foreseen end. */
export interface Foreseen {
  readonly amps: number | null;
  readonly ampHours: number | null;
  readonly thicknessMicrometres: number | null;
}

const points = 240;
const nothing: Foreseen = { amps: null, ampHours: null, thicknessMicrometres: null };

/** The place between two entries of a rising column: index below, and the share of the way up. */
function placeIn(column: readonly number[], value: number): readonly [number, number] {
  let low = 0;
  let high = column.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((column[middle] ?? 0) <= value) low = middle;
    else high = middle;
  }
  const from = column[low] ?? 0;
  const to = column[high] ?? from;
  return [low, to > from ? Math.min(1, Math.max(0, (value - from) / (to - from))) : 0];
}

function at(column: readonly number[], [index, share]: readonly [number, number]): number {
  const from = column[index] ?? 0;
  return from + ((column[index + 1] ?? from) - from) * share;
}

interface Course {
  readonly fromMs: number;
  readonly curve: PlanCurve;
  /** Where in its plan this stretch begins, ms. */
  readonly offsetMs: number;
}

/** Answers what was foreseen for any moment of a run, ms from its start. */
export class PlannedCourse {
  readonly #courses: readonly Course[];

  /** The stretches in their order, the first from the start of the run. */
  constructor(stretches: readonly PlanStretch[]) {
    this.#courses = stretches.map(({ plan, fromMs, grownMicrometres }) => {
      const curve = planCurve(plan, points);
      // A plan that is taken up with metal there already begins where it would have that much.
      const offsetMs =
        grownMicrometres <= 0
          ? 0
          : at(curve.atMs, placeIn(curve.thicknessMicrometres, grownMicrometres));
      return { fromMs, curve, offsetMs };
    });
  }

  /** When the plan that stands last reaches its target, ms from the start of the run. */
  get endMs(): number {
    const last = this.#courses.at(-1);
    if (last === undefined) return 0;
    return last.fromMs + (last.curve.atMs.at(-1) ?? 0) - last.offsetMs;
  }

  foreseen(atMs: number): Foreseen {
    const course = this.#courses.findLast(({ fromMs }) => fromMs <= atMs);
    if (course === undefined) return nothing;
    const { curve, fromMs, offsetMs } = course;
    const within = atMs - fromMs + offsetMs;
    if (within > (curve.atMs.at(-1) ?? 0)) return nothing;
    const place = placeIn(curve.atMs, within);
    return {
      amps: at(curve.amps, place),
      ampHours: at(curve.ampHours, place),
      thicknessMicrometres: at(curve.thicknessMicrometres, place),
    };
  }
}

/** The stretches of a run: its plan as armed, and each that took its place. */
export function stretchesOf(
  plan: Plan,
  changes: readonly { readonly atMs: number | null; readonly planBefore: Plan }[],
  carriedMicrometres: number,
  grownAt: (atMs: number) => number,
): readonly PlanStretch[] {
  const plans = [...changes.map(({ planBefore }) => planBefore), plan];
  return plans.map((one, index) => {
    const fromMs = changes[index - 1]?.atMs ?? 0;
    const grownMicrometres = index === 0 ? carriedMicrometres : grownAt(fromMs);
    return { plan: one, fromMs, grownMicrometres };
  });
}
