/** Faults that come from beside the readings: a supply that was switched on anew, a log that fails. */

import { faultOf } from '../run/faults.ts';
import { isFinal, isPowered } from '../run/state.ts';
import type { Tank } from './tank.ts';

/** Nothing was measured meanwhile. What may have flowed is bounded by the run itself: the clocks it goes by leave it out. */
export function computerSlept(tank: Tank, gapMs: number): void {
  const { run } = tank;
  if (run !== null && run.clocks !== null) {
    run.clocks = { ...run.clocks, sinceBootMs: run.clocks.sinceBootMs + gapMs };
  }
  tank.feed({ kind: 'clock-gap', atMs: tank.clock.nowMs(), gapMs });
  // Clocks and charge belong together: a restart goes by both.
  if (run !== null && run.startedAtMs !== null) tank.journal.update(run);
}

/** The line came up again and the supply says that it was switched on anew meanwhile. */
export function supplyRestarted(tank: Tank): void {
  if (tank.run === null || !isPowered(tank.run.state.lifecycle)) return;
  const found = 'The supply was switched on again while the line to it was down.';
  tank.feed({ kind: 'fault', atMs: tank.clock.nowMs(), code: 'supplyRestarted', found });
}

/** The log cannot be written: a run is ended by it; without one a person is told. */
export function storeFailed(tank: Tank, reason: string): void {
  const atMs = tank.clock.nowMs();
  if (tank.run !== null && !isFinal(tank.run.state.lifecycle)) {
    tank.feed({ kind: 'fault', atMs, code: 'databaseLost', found: reason });
    return;
  }
  // Nothing is left to trip, yet somebody must know before the next night.
  tank.journal.alarm(null, faultOf('databaseLost', atMs, reason), 'act-soon');
}
