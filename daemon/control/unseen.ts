/** The most charge that can have passed while nobody looked: until a run of a former process is read back as off. */

import { isFinal } from '../run/state.ts';
import type { BootClocks, RunRecord } from '../wire/run.ts';

export interface Seen {
  readonly started: boolean;
  readonly ampHours: number;
  /** When it was last seen: by the wall clock, and from the start of the run, ms. */
  readonly wallMs: number;
  readonly atMs: number;
}

const msPerHour = 3_600_000;
/** A clock that went back by more than this was not right, then or now, ms. */
const clockSlackMs = 5_000;
/** Less between the two clocks of a computer is no sleep, ms. */
const sleepFloorMs = 2_000;

/**
 * Between the last reading and `untilWallMs` the output may have stayed on at the run's largest
 * current. A simulated supply in this process died with it. `untilClocks` are those of this computer
 * at that moment; null where only the wall clock tells of it.
 */
export function highestCharge(
  record: RunRecord,
  seen: Seen,
  untilWallMs: number,
  untilClocks: BootClocks | null,
): number {
  const counted = Math.max(record.highAmpHours, seen.ampHours);
  if (record.simulated || !seen.started) return counted;
  const unseenHours = unseenMs(record, seen, untilWallMs, untilClocks) / msPerHour;
  // A run that stays unsettled over several restarts is bounded from the same moment each time.
  const before = isFinal(record.lifecycle) ? seen.ampHours : counted;
  return Math.max(counted, before + record.plan.limits.maxAmps * unseenHours);
}

/**
 * The computer's own clocks tell it exactly while it stays up and awake; where it slept, or was started
 * anew, they tell the least, and the wall clock the rest.
 */
function unseenMs(
  record: RunRecord,
  seen: Seen,
  untilWallMs: number,
  untilClocks: BootClocks | null,
): number {
  const byWallMs = unseenByWallMs(record, seen, untilWallMs);
  const { clocks } = record;
  if (clocks === null || untilClocks === null) return byWallMs;
  if (clocks.bootId !== untilClocks.bootId) return Math.max(byWallMs, untilClocks.sinceBootMs);
  const awakeMs = untilClocks.awakeMs - clocks.awakeMs;
  const sleptMs = untilClocks.sinceBootMs - clocks.sinceBootMs - awakeMs;
  const unseenAwakeMs = Math.max(0, awakeMs - seen.atMs);
  return sleptMs < sleepFloorMs ? unseenAwakeMs : Math.max(byWallMs, unseenAwakeMs);
}

/**
 * A clock that went backwards, as on a board that keeps no time while it is off, tells nothing of how
 * long that was: the run's longest time bounds it.
 */
function unseenByWallMs({ plan }: RunRecord, seen: Seen, untilWallMs: number): number {
  const wentBack = untilWallMs < seen.wallMs - clockSlackMs;
  return wentBack ? plan.limits.maxDurationMs : Math.max(0, untilWallMs - seen.wallMs);
}
