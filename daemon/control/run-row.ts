/** What the row of a run on disk says of it: for the log, and for a restart that finds it open. */

import { isFinal, type RunState } from '../run/state.ts';
import type { RunPatch } from '../store/door.ts';
import type { ChargeSeen } from '../wire/run.ts';
import type { TankClock } from './clock.ts';
import { thicknessOf } from './scene.ts';
import type { ActiveRun } from './snapshot.ts';

type Clock = Pick<TankClock, 'nowMs' | 'wallMs'>;

/** The row as it has to be now; how far the charge was seen by then is kept with the run too. */
export function rowOf(run: ActiveRun, clock: Clock): RunPatch {
  const { state } = run;
  run.chargeSeen = chargeSeen(run, clock);
  return {
    lifecycle: state.lifecycle,
    offConfirmed: isFinal(state.lifecycle) && state.output === 'confirmedOff',
    startedWallMs: run.startedWallMs,
    clocks: run.clocks,
    endedWallMs: run.endedWallMs,
    outcome: state.outcome,
    ampHours: state.charge.ampHours,
    lowAmpHours: state.charge.lowAmpHours,
    highAmpHours: state.charge.highAmpHours,
    chargeSeen: run.chargeSeen,
    thicknessMicrometres: thicknessOf(state),
  };
}

/**
 * While current may flow that is the last measurement, or ON where there was none yet; with the output
 * read back as off, and once the run is settled, it is now. An output that came on by itself while the
 * piece is lifted leaves it where it was. Null before the start.
 */
function chargeSeen({ state, startedAtMs, ...run }: ActiveRun, clock: Clock): ChargeSeen | null {
  if (startedAtMs === null) return null;
  const { lastAtMs, lastAmps, glimpsedAmps, ampHours, highAmpHours } = state.charge;
  const nowMs = clock.nowMs();
  const isOff = state.output === 'confirmedOff' || run.settled;
  const untilMs = lastAtMs ?? (isOff ? nowMs : startedAtMs);
  const atMs = Math.max(untilMs - startedAtMs, run.chargeSeen?.atMs ?? 0);
  const found = [lastAmps, glimpsedAmps].filter((amps) => Number.isFinite(amps));
  return {
    atMs,
    wallMs: clock.wallMs() - (nowMs - startedAtMs - atMs),
    doubtAmpHours: Math.max(0, highAmpHours - ampHours),
    mostAmps: Math.max(state.plan.limits.maxAmps, ...found),
  };
}

/** Whether the row has to follow at once: what bounds the charge has grown, or a run that is over has news of its output. */
export function changesRow(before: RunState, after: RunState): boolean {
  if (after.charge.glimpsedAmps > before.charge.glimpsedAmps) return true;
  return isFinal(before.lifecycle) && before.output !== after.output;
}
