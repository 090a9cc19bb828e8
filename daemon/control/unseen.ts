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

/** A moment at which the output was off, or now: by the wall clock, and by those that nobody sets. */
export interface Moment {
  readonly wallMs: number;
  /** Null where they are not known. */
  readonly clocks: BootClocks | null;
}

const msPerHour = 3_600_000;
/** A clock that went back by more than this was not right, then or now, ms. */
const clockSlackMs = 5_000;

/**
 * Between the last reading and `until` the output may have stayed on at the run's largest current. A
 * simulated supply in this process died with it.
 */
export function highestCharge(record: RunRecord, seen: Seen, until: Moment): number {
  const { ampHours } = seen;
  const counted = Math.max(record.highAmpHours, ampHours);
  if (record.simulated || !seen.started) return counted;
  // The row is older than the last reading: what was in doubt by then comes on top of what was counted
  // since. A run that stays unsettled over several restarts is bounded from the same moment each time.
  const doubtAmpHours = isFinal(record.lifecycle) ? 0 : record.highAmpHours - record.ampHours;
  const unseenHours = unseenMs(record, seen, until) / msPerHour;
  const flowedAmpHours = record.plan.limits.maxAmps * unseenHours;
  return Math.max(counted, ampHours + Math.max(0, doubtAmpHours) + flowedAmpHours);
}

/**
 * Of the clocks that nobody sets the one that went further holds, so that a sleep is in it. Where the
 * computer was started anew meanwhile, only the wall clock spans both.
 */
function unseenMs(record: RunRecord, seen: Seen, until: Moment): number {
  const byWallMs = unseenByWallMs(record, seen, until.wallMs);
  if (record.clocks === null || until.clocks === null) return byWallMs;
  const { bootId, awakeMs, sinceBootMs } = until.clocks;
  if (record.clocks.bootId !== bootId) {
    // Less than since it was started: the wall clock was set back, and tells nothing.
    const isWrong = byWallMs < sinceBootMs - clockSlackMs;
    return Math.max(byWallMs, sinceBootMs, isWrong ? record.plan.limits.maxDurationMs : 0);
  }
  const awokeMs = awakeMs - record.clocks.awakeMs;
  const passedMs = sinceBootMs - record.clocks.sinceBootMs;
  const ownMs = Math.max(0, awokeMs, passedMs) - seen.atMs;
  // In a container that was started anew each may be another one's clock.
  const isOwn = awokeMs >= 0 && passedMs >= awokeMs - clockSlackMs;
  return Math.max(0, ownMs, isOwn ? 0 : byWallMs);
}

/**
 * A clock that went backwards, as on a board that keeps no time while it is off, tells nothing of how
 * long that was: the run's longest time bounds it.
 */
function unseenByWallMs({ plan }: RunRecord, seen: Seen, untilWallMs: number): number {
  const wentBack = untilWallMs < seen.wallMs - clockSlackMs;
  return wentBack ? plan.limits.maxDurationMs : Math.max(0, untilWallMs - seen.wallMs);
}
