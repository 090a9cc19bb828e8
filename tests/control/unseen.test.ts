/** From when on a restart bounds the charge of a run that a former process left. */

import { describe, expect, it } from 'vitest';
import { highestCharge, lastSeen } from '../../daemon/control/unseen.ts';
import type { ReadingRow, RunRecord } from '../../daemon/wire/run.ts';
import { aReading, aRun } from '../store/a-run.ts';

const hourMs = 3_600_000;
const chargeSeen = { atMs: 10_000, wallMs: 2_000_000, doubtAmpHours: 0.02, mostAmps: 3 };

function reading(changes: Partial<ReadingRow>): ReadingRow {
  return { ...aReading(0), ...changes };
}

describe('the charge of a run was last seen', () => {
  const run = aRun('night', { chargeSeen, lifecycle: 'holding' });

  it('at a later reading of current that was wanted', () => {
    const last = reading({ atMs: 12_000, wallMs: 2_002_000, lifecycle: 'holding', ampHours: 0.1 });
    expect(lastSeen(run, last)).toBe(last);
    // ON is not confirmed again yet: nothing was counted since.
    expect(lastSeen(run, { ...last, ampHours: run.ampHours })).toEqual(chargeSeen);
    const earlier = reading({ ...last, atMs: 9_000, wallMs: 1_999_000 });
    expect(lastSeen(run, earlier)).toEqual(chargeSeen);
  });

  it.each(['stopped', 'tripped', 'finished', 'interrupted', 'lifted', 'armed'] as const)(
    'by its row, whatever was read while it was %s',
    (lifecycle) => {
      const last = reading({ atMs: 90_000, wallMs: 2_080_000, lifecycle, ampHours: 0.1 });
      expect(lastSeen(run, last)).toEqual(chargeSeen);
      expect(lastSeen(run, null)).toEqual(chargeSeen);
    },
  );

  it('at its last reading where its row is from before that was kept', () => {
    const old = aRun('old', { chargeSeen: null });
    const last = reading({ lifecycle: 'tripped' });
    expect(lastSeen(old, last)).toBe(last);
    expect(lastSeen(old, null)).toBeNull();
  });
});

describe('the most that can have passed since', () => {
  const seen = { started: true, ampHours: 0.5, wallMs: 2_000_000, atMs: 10_000 };
  const until = { wallMs: 2_000_000 + hourMs, clocks: null };
  const real = { simulated: false, clocks: null };

  it.each(['holding', 'tripped', 'interrupted'] as const)(
    'flows at the largest current that was found, and comes on top of the doubt of a run that was %s',
    (lifecycle) => {
      const run = aRun('night', { ...real, chargeSeen, lifecycle });
      expect(highestCharge(run, seen, until)).toBeCloseTo(0.5 + 0.02 + 3, 9);
    },
  );

  it('stays so at every restart, though the row has its bound by then', () => {
    const closed: RunRecord = aRun('night', {
      ...real,
      chargeSeen,
      lifecycle: 'interrupted',
      ampHours: 0.5,
      highAmpHours: 3.52,
    });
    expect(highestCharge(closed, seen, until)).toBeCloseTo(3.52, 9);
    const later = { wallMs: until.wallMs + hourMs, clocks: null };
    expect(highestCharge(closed, seen, later)).toBeCloseTo(6.52, 9);
  });

  it('flows at what a later process found at the most', () => {
    const run = aRun('night', { ...real, chargeSeen, lifecycle: 'holding' });
    expect(highestCharge(run, seen, until, 6)).toBeCloseTo(0.5 + 0.02 + 6, 9);
    expect(highestCharge(run, seen, until, 1)).toBeCloseTo(0.5 + 0.02 + 3, 9);
  });

  it('flows at the limit of the run where its row is from before that was kept', () => {
    const run = aRun('old', { ...real, chargeSeen: null, lifecycle: 'holding' });
    const { maxAmps } = run.plan.limits;
    expect(highestCharge(run, seen, until)).toBeCloseTo(0.5 + maxAmps, 9);
  });
});
