/** The curve of a run: stored columns, live frames, hour rings and lift gaps. */

import { describe, expect, it } from 'vitest';
import type { Lifecycle } from '../../daemon/run/model.ts';
import type { RunRecord, Series } from '../../daemon/wire/run.ts';
import { RunTrack, type Sample } from '../../dashboard/run-track.ts';
import { RunFolder } from '../../dashboard/runs.ts';

const hourMs = 3_600_000;

function sample(atMs: number, changes: Partial<Sample> = {}): Sample {
  return {
    atMs,
    volts: 1,
    amps: 0.5,
    setAmps: 0.5,
    ampHours: (0.5 * atMs) / hourMs,
    thicknessMicrometres: (10 * atMs) / hourMs,
    lifecycle: 'holding',
    ...changes,
  };
}

/** Ten micrometres an hour, sampled every minute. */
function grown(
  hours: number,
  lifecycleAt: (atMs: number) => Lifecycle = () => 'holding',
): RunTrack {
  const track = new RunTrack('run');
  for (let minute = 0; minute <= hours * 60; minute += 1) {
    const atMs = minute * 60_000;
    track.push(sample(atMs, { lifecycle: lifecycleAt(atMs) }));
  }
  return track;
}

function stored(atMs: number[]): Series {
  const flat = atMs.map(() => 1);
  return {
    runId: 'run',
    atMs,
    volts: flat,
    minVolts: flat,
    maxVolts: flat,
    amps: flat,
    minAmps: flat,
    maxAmps: flat,
    setAmps: flat,
    ampHours: flat,
    thicknessMicrometres: atMs.map((at) => (10 * at) / hourMs),
    lifecycle: atMs.map(() => 'holding' as const),
  };
}

it('keeps the gap of a lift that is shorter than a stretch of its curve', () => {
  const folder = new RunFolder('run');
  folder.record = {
    plan: { decidingPart: 0, thicknessMicrometres: { value: 100, low: 90, high: 110 } },
    startedWallMs: 0,
  } as RunRecord;
  for (let minute = 0; minute <= 180; minute += 1) folder.track.push(sample(minute * 60_000));
  const lifted = { id: 1, runId: 'run', tankId: 'one', wallMs: 0, message: 'Lifted out.' };
  folder.addEvent({ ...lifted, code: 'lifted', atMs: 1.505 * hourMs });
  const whole = { value: 30, low: 28, high: 32 };
  const [gap = 0, ...more] = folder.rings(3 * hourMs, whole)?.lifts ?? [];
  expect(gap).toBeCloseTo(15.05, 2);
  expect(more).toEqual([]);
  // A replay that stands before it shows none.
  expect(folder.rings(hourMs, whole)?.lifts).toEqual([]);
});

describe('a track', () => {
  it('puts a ring at each hour of growth', () => {
    const { hours } = grown(3.5).marks(Infinity);
    expect(hours).toHaveLength(3);
    expect(hours[0]).toBeCloseTo(10, 6);
    expect(hours[2]).toBeCloseTo(30, 6);
  });

  it('counts no growth while lifted, and marks the lift once at its thickness', () => {
    const away = (atMs: number): Lifecycle =>
      atMs > 1.5 * hourMs && atMs <= 3 * hourMs ? 'lifted' : 'holding';
    const { hours, lifts } = grown(4, away).marks(Infinity);
    expect(hours).toHaveLength(2);
    expect(lifts).toHaveLength(1);
    expect(lifts[0]).toBeCloseTo(15, 0);
  });

  it('knows only what had happened by the time that is asked for', () => {
    expect(grown(3).marks(1.5 * hourMs).hours).toHaveLength(1);
  });

  it('reads between two points along their line', () => {
    const track = grown(1);
    expect(track.valueAt('thicknessMicrometres', 90_000)).toBeCloseTo(0.25, 6);
    expect(track.valueAt('thicknessMicrometres', -5)).toBe(0);
    expect(track.valueAt('thicknessMicrometres', 99 * hourMs)).toBeCloseTo(10, 6);
  });

  it('keeps its length bounded, its newest point, and every spike', () => {
    const track = new RunTrack('run');
    for (let index = 0; index < 20_000; index += 1) {
      track.push(sample(index * 250, { amps: index === 7_777 ? 3 : 0.5 }));
    }
    expect(track.length).toBeLessThanOrEqual(2400);
    expect(track.endMs).toBe(19_999 * 250);
    expect(Math.max(...track.series.maxAmps)).toBe(3);
    const times = track.series.atMs;
    expect(times).toEqual(times.toSorted((a, b) => a - b));
  });

  it('joins the stored curve with the frames that came after it', () => {
    const track = new RunTrack('run');
    track.push(sample(2000));
    track.push(sample(5000));
    track.load(stored([0, 1000, 2000, 3000]));
    expect(track.series.atMs).toEqual([0, 1000, 2000, 3000, 5000]);
    track.push(sample(4000));
    expect(track.endMs, 'an older frame is left out').toBe(5000);
  });
});
