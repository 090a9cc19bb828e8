/** The loop's budgets: they grow with a slow dialect's cycle and are frozen into a run at arming. */

import type { RunState, RunTiming } from '../run/state.ts';
import type { Reaction } from '../wire/checks.ts';

/** `askedCycleMs` is what the settings ask for, `cycleMs` what comes of it with this supply. */
export function timingFor(cycleMs: number, askedCycleMs: number): RunTiming {
  return {
    cycleMs,
    askedCycleMs,
    followEveryMs: Math.max(1_000, 4 * cycleMs),
    gapBoundMs: Math.max(1_500, 6 * cycleMs),
    armedForMs: 15 * 60_000,
    liftReminderMs: 30 * 60_000,
    liftedForMs: 12 * 3_600_000,
    programWithinMs: Math.max(3_000, 8 * cycleMs),
    setPointsWithinMs: Math.max(10_000, 25 * cycleMs),
    onWithinMs: Math.max(4_000, 8 * cycleMs),
    offAlarmMs: 3_000,
  };
}

/** Longest time without a valid reading before a run trips, ms: a slow dialect's one lost reply and its way back to step fit in. */
export function maxSilenceMsFor(cycleMs: number): number {
  return Math.max(2_000, 7 * cycleMs);
}

/**
 * How long a tick waits for the supply before it judges that there is no reading yet, ms. With the pause
 * of a cycle before it and a busy computer's 400 ms that stays below the silence at which the sentinel
 * takes control for hung.
 */
export function tickPatienceFor(cycleMs: number): number {
  return Math.max(50, 0.4 * cycleMs);
}

/** What was frozen into an armed run, in figures for a person; `hungOffMs` is the sentinel's own word. */
export function reactionOf(
  { plan, timing }: Pick<RunState, 'plan' | 'timing'>,
  hungOffMs: number | null,
): Reaction {
  return {
    readsPerSecond: Number((1000 / timing.cycleMs).toPrecision(2)),
    slowedBySupply: timing.cycleMs > timing.askedCycleMs,
    silentOffSeconds: secondsUp(plan.limits.maxSilenceMs),
    hungOffSeconds: hungOffMs === null ? null : secondsUp(hungOffMs),
    offAlarmSeconds: secondsUp(timing.offAlarmMs),
  };
}

/** To a tenth, and never shorter than it is. */
function secondsUp(ms: number): number {
  return Math.ceil(Math.round(ms) / 100) / 10;
}
