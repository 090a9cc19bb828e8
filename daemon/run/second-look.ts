/** Which readings are asked for once more before they count: one turned bit must not end a night. */

import { step } from './machine.ts';
import type { RunReading } from './model.ts';
import type { RunState } from './state.ts';

/** A current that moves by more than this share of the set-point between two readings is a jump. */
const jumpShare = 0.2;
/** Below so many steps of the supply a jump is the meter's own noise. */
const jumpSteps = 5;

/** `alarm`: the reading would call a person by itself. `jump`: its current is far from the last one. */
export type Doubt = 'alarm' | 'jump';

/**
 * Why this reading is to be asked for once more; null where it may count at once. A supply has no
 * checksum, so a wrong digit reads like a right one; a real fault, or a real step, is there again at
 * the second look a moment later. The run itself is not changed.
 */
export function doubtOf(state: RunState, reading: RunReading): Doubt | null {
  const { effects } = step(state, { kind: 'reading', atMs: reading.atMs, reading });
  if (effects.some(({ kind }) => kind === 'alarm')) return 'alarm';
  return jumps(state, reading) ? 'jump' : null;
}

function jumps(state: RunState, reading: RunReading): boolean {
  const { lastAtMs, lastAmps } = state.charge;
  // Right after ON there is nothing that it could have jumped from.
  if (state.output !== 'on' || lastAtMs === null || Number.isNaN(lastAmps)) return false;
  const setAmps = Math.max(state.confirmedAmps, state.commandedAmps);
  const bound = Math.max(jumpShare * setAmps, jumpSteps * state.plan.tank.supply.stepAmps);
  return Math.abs(reading.amps - lastAmps) > bound;
}
