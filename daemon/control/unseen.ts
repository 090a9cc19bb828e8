/** The most charge that can have passed while nobody looked: until a run of a former process is read back as off. */

import { isFinal, isPowered } from '../run/state.ts';
import type { BootClocks, ChargeSeen, ReadingRow, RunRecord } from '../wire/run.ts';

export interface Seen {
  readonly started: boolean;
  readonly ampHours: number;
  /** When it was last seen: by the wall clock, and from the start of the run, ms. */
  readonly wallMs: number;
  readonly atMs: number;
}

type SeenAt = Pick<Seen, 'wallMs' | 'atMs'>;

/**
 * Up to when the charge of a run was counted or bounded: the row says so, or a later reading of a run that
 * current was wanted in and that has counted more since. What is read after a run has ended, while it is
 * lifted, or before ON is confirmed is not counted: an output that does not obey lets current flow beside
 * it. Null where nothing tells.
 */
export function lastSeen(record: RunRecord, last: ReadingRow | null): SeenAt | null {
  const { chargeSeen, ampHours } = record;
  if (chargeSeen === null) return last;
  const isCounted = last !== null && isPowered(last.lifecycle) && last.ampHours > ampHours;
  return isCounted && last.atMs > chargeSeen.atMs ? last : chargeSeen;
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
 * From when it was last seen to `until` the output may have stayed on at the run's largest current, or
 * at a larger one that was found to flow, by its own process or as `foundAmps`, A, by a later one. A
 * simulated supply in this process died with it.
 */
export function highestCharge(record: RunRecord, seen: Seen, until: Moment, foundAmps = 0): number {
  const { ampHours } = seen;
  const counted = Math.max(record.highAmpHours, ampHours);
  if (record.simulated || !seen.started) return counted;
  // The row may be older than the last reading: what was in doubt by then comes on top of what was counted
  // since. A run that stays unsettled over several restarts is bounded from the same moment each time.
  const { doubtAmpHours, mostAmps } = record.chargeSeen ?? untold(record);
  const unseenHours = unseenMs(record, seen, until) / msPerHour;
  const flowedAmpHours = Math.max(mostAmps, foundAmps) * unseenHours;
  return Math.max(counted, ampHours + doubtAmpHours + flowedAmpHours);
}

/** Of a row from before it was kept: once a restart has closed it, its bounds hold more than its own doubt. */
export function untold(record: RunRecord): Pick<ChargeSeen, 'doubtAmpHours' | 'mostAmps'> {
  const { highAmpHours, ampHours, plan } = record;
  const doubtAmpHours = isFinal(record.lifecycle) ? 0 : Math.max(0, highAmpHours - ampHours);
  return { doubtAmpHours, mostAmps: plan.limits.maxAmps };
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
