/** Which readings are asked for once more before they count: one turned bit must not end a night. */

import { step } from './machine.ts';
import type { RunReading } from './model.ts';
import { highestSetAmps, type RunState } from './state.ts';
import type { Step } from './steps.ts';
import { readsUnlike } from './watch/set-point-changed.ts';

/** A current that moves by more than this share of the set-point between two readings is a jump. */
const jumpShare = 0.2;
/** Below so many steps of the supply a jump is the meter's own noise. */
const jumpSteps = 5;

/**
 * `alarm`: the reading would call a person by itself. `jump`: its current is far from the last one, or
 * its set-points from those that were given.
 */
export type Doubt = 'alarm' | 'jump';

/** What a reading does to a run, and why it is to be asked for once more before that. */
export interface Trial {
  readonly outcome: Step;
  /** Null where it may count at once. */
  readonly doubt: Doubt | null;
}

/**
 * Tries a reading on a run, which is not changed. A supply has no checksum, so a wrong digit reads
 * like a right one; a real fault, or a real step, is there again at the second look a moment later.
 */
export function tryReading(state: RunState, reading: RunReading): Trial {
  const outcome = step(state, { kind: 'reading', atMs: reading.atMs, reading });
  if (outcome.effects.some(({ kind }) => kind === 'alarm')) return { outcome, doubt: 'alarm' };
  return { outcome, doubt: jumps(state, reading) || strays(state, reading) ? 'jump' : null };
}

/**
 * The set-points are read seldom, and what they read stands until they are read again: long enough for
 * the sentinel to end control over one that no supply may be set to.
 */
function strays(state: RunState, { setAmps, setVolts }: RunReading): boolean {
  if (state.output !== 'on' || state.programming) return false;
  const { stepAmps, stepVolts } = state.plan.tank.supply;
  return (
    readsUnlike(setAmps, state.confirmedAmps, stepAmps) ||
    readsUnlike(setVolts, state.plan.limits.setVolts, stepVolts)
  );
}

function jumps(state: RunState, reading: RunReading): boolean {
  const { lastAtMs, lastAmps } = state.charge;
  // Right after ON there is nothing that it could have jumped from.
  if (state.output !== 'on' || lastAtMs === null || Number.isNaN(lastAmps)) return false;
  const bound = Math.max(
    jumpShare * highestSetAmps(state),
    jumpSteps * state.plan.tank.supply.stepAmps,
  );
  return Math.abs(reading.amps - lastAmps) > bound;
}
