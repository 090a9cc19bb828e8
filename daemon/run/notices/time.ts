/** Judges how long a plan takes. */

import { tightShare } from '../limits.ts';
import type { Notice } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { durationMsAtDensity, thicknessMmAfter } from '../plan-growth.ts';
import { density, fitting, hours, micrometres, notice, silent, sufficing } from './words.ts';

const msPerHour = 3_600_000;

/** The lowest density inside the window that is fast enough, A/dm2; null where none is. */
function densityInTime(figures: PlanFigures, allowedMs: number): number | null {
  const { bath, thicknessMm, grownMm, request } = figures;
  const takes = (ampsPerDm2: number) =>
    durationMsAtDensity(figures, ampsPerDm2, thicknessMm - grownMm);
  let low = request.densityAmpsPerDm2;
  let high = bath.window.maxAmpsPerDm2;
  if (low >= high || takes(high) > allowedMs) {
    return null;
  }
  for (let step = 0; step < 40; step += 1) {
    const middle = (low + high) / 2;
    if (takes(middle) > allowedMs) {
      low = middle;
    } else {
      high = middle;
    }
  }
  const rounded = sufficing(high, 3);
  return rounded <= bath.window.maxAmpsPerDm2 ? rounded : high;
}

function remedy(figures: PlanFigures, allowedMs: number): string {
  if (allowedMs <= 0) {
    return 'The trickle alone fills the time; shorten it.';
  }
  const { request } = figures;
  if (request.target.kind === 'time') {
    return `The longest that fits is ${hours(fitting(allowedMs, 3))}.`;
  }
  const thickest = fitting((figures.grownMm + thicknessMmAfter(figures, allowedMs)) * 1000);
  const inTime = `In ${hours(allowedMs)} it reaches ${micrometres(thickest)}`;
  const faster = densityInTime(figures, allowedMs);
  return faster === null
    ? `${inTime}; no density inside this bath's window is fast enough. Grow it in two runs.`
    : `${inTime}; ${density(faster)} is the lowest density that makes this target in time.`;
}

/** The duration that is left, trickle included, against the longest that the tank allows. */
export function durationNotices(figures: PlanFigures): readonly Notice[] {
  const { tank, leftMs, grownMm, trickle } = figures;
  const allowedMs = tank.maxHours * msPerHour;
  const trickleMs = trickle?.durationMs ?? 0;
  const wholeMs = leftMs + trickleMs;
  if (wholeMs <= tightShare * allowedMs) {
    return silent;
  }
  const run = grownMm > 0 ? 'What is left of the run' : 'The run';
  const what = trickleMs > 0 ? `${run} and its trickle take` : `${run} takes`;
  const common = {
    field: 'tank.maxHours',
    value: hours(wholeMs),
    bound: `at most ${hours(allowedMs)}`,
  };
  if (wholeMs > allowedMs) {
    return notice('refuse', 'tooLong', {
      ...common,
      message: `${what} ${hours(wholeMs)}; this tank allows ${hours(allowedMs)}.`,
      remedy: remedy(figures, allowedMs - trickleMs),
    });
  }
  return notice('warn', 'timeTight', {
    ...common,
    message:
      `${what} ${hours(wholeMs)} of the ${hours(allowedMs)} that this tank allows: a small ` +
      'delay ends it before the target.',
    remedy: 'Allow this tank a little more time, or aim a little thinner.',
  });
}
