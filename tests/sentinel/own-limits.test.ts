/** The sentinel's own limits: what oversteps them, and what must never count as overstepping. */

import { describe, expect, it } from 'vitest';
import { Guards } from '../../daemon/sentinel/guards.ts';
import { TankLimits } from '../../daemon/sentinel/own-limits.ts';
import { AfterSleep, SleepWatch } from '../../daemon/sentinel/sleep-watch.ts';
import type { RunBounds, TankReport } from '../../daemon/wire/process.ts';
import { holdingReport as holding } from './supply.ts';

const hard = { maxAmps: 3, maxVolts: 6, maxHours: 12 };
const bounds: RunBounds = {
  runId: 'run-1',
  maxAmps: 1,
  maxVolts: 4,
  maxDurationMs: 2 * 3_600_000,
  maxChargeAmpHours: 1.5,
};

function guarded(changes: Partial<RunBounds> = {}): TankLimits {
  const limits = new TankLimits('one', hard);
  limits.admit({ ...bounds, ...changes });
  return limits;
}

/** Reports the same four times a second; the time and words of the first finding, or null. */
function firstFinding(limits: TankLimits, report: TankReport, fromMs: number, toMs: number) {
  for (let atMs = fromMs; atMs <= toMs; atMs += 250) {
    const found = limits.judge(report, atMs);
    if (found !== null) return { atMs, found };
  }
  return null;
}

describe('a guard that is asked for anew', () => {
  const script = {
    path: 'tcp://127.0.0.1:9',
    baudRate: null,
    off: 'OUTP OFF\n',
    verifyQuery: null,
    verifyOffPattern: null,
    identity: null,
  };
  const wider = { ...bounds, maxChargeAmpHours: 9 };

  it('and is taken back leaves the run that is on under its former bounds', () => {
    const hardLimits = new Map([['one', hard]]);
    const guards = new Guards({ hardLimits, nameFolders: [], onChange: () => undefined });
    guards.hold('one', script, bounds);
    const before = guards.standing('one');
    expect(before).toEqual({ held: true, bounds });
    guards.hold('one', script, wider);
    guards.takeBack('one', before);
    expect(guards.standing('one')).toEqual(before);
    expect(guards.holdsLine('one')).toBe(true);
    expect(guards.judge([holding], 1_000)).toBeNull();
  });

  it('and is taken back leaves nothing where nothing was held before', () => {
    const hardLimits = new Map([['one', hard]]);
    const guards = new Guards({ hardLimits, nameFolders: [], onChange: () => undefined });
    const before = guards.standing('one');
    guards.hold('one', script, bounds);
    guards.takeBack('one', before);
    expect(guards.standing('one')).toEqual({ held: false, bounds: null });
    expect(guards.isEmpty).toBe(true);
  });
});

describe('a run that is put under guard', () => {
  it.each([
    [{ maxAmps: 3.1 }, /up to 3\.1 A.*at most 3 A/],
    [{ maxVolts: 7 }, /up to 7 V.*at most 6 V/],
    [{ maxDurationMs: 13 * 3_600_000 }, /up to 13 h.*at most 12 h/],
    [{ maxChargeAmpHours: 60 }, /up to 60 A·h/],
    [{ maxAmps: 0 }, /more than 0/],
    [{ maxAmps: Number.NaN }, /NaN A/],
    [{ maxDurationMs: Number.POSITIVE_INFINITY }, /Infinity h/],
  ])('is refused where the settings forbid %j', (changes, words) => {
    expect(() => guarded(changes)).toThrow(words);
  });

  it('may use the settings to the full', () => {
    const full = { maxAmps: 3, maxVolts: 6, maxDurationMs: 12 * 3_600_000, maxChargeAmpHours: 36 };
    expect(() => guarded(full)).not.toThrow();
  });
});

describe('a run within its limits', () => {
  it('is left alone to its longest time, at its largest current', () => {
    const most = { ...holding, amps: 0.75, askedAmps: 1, readAmps: 1, askedVolts: 4, readVolts: 4 };
    expect(firstFinding(guarded(), most, 0, bounds.maxDurationMs)).toBeNull();
  });

  it('is left alone at the hard limits themselves, as a supply with coarse steps reads them back', () => {
    const atHard = {
      ...holding,
      amps: 3.05,
      askedAmps: 3,
      readAmps: 3.02,
      askedVolts: 6,
      readVolts: 6.05,
    };
    expect(firstFinding(guarded({ maxChargeAmpHours: 20 }), atHard, 0, 3_600_000)).toBeNull();
  });

  it('does not age while it is lifted', () => {
    const limits = guarded();
    const lifted: TankReport = {
      ...holding,
      output: 'confirmedOff',
      switchedOn: false,
      amps: null,
    };
    expect(firstFinding(limits, holding, 0, 3_600_000)).toBeNull();
    expect(firstFinding(limits, lifted, 3_600_000, 14 * 3_600_000)).toBeNull();
    expect(firstFinding(limits, holding, 14 * 3_600_000, 14.9 * 3_600_000)).toBeNull();
  });

  it('is not judged for what its supply does while OFF is being sent again and again', () => {
    const stuck: TankReport = { ...holding, output: 'unknown', amps: 3.5, readAmps: 3.5 };
    expect(firstFinding(guarded(), stuck, 0, 3 * 3_600_000)).toBeNull();
  });

  it('is no business of a maker who uses the supply by hand afterwards', () => {
    const limits = guarded();
    limits.release();
    const byHand: TankReport = {
      ...holding,
      runId: null,
      switchedOn: false,
      amps: 4,
      readAmps: 5,
      askedAmps: null,
      askedVolts: null,
    };
    expect(firstFinding(limits, byHand, 0, 3_600_000)).toBeNull();
  });
});

describe('overstepping', () => {
  it.each([
    [{ askedAmps: 3.1 }, '3.1 A were asked'],
    [{ askedVolts: 6.5 }, '6.5 V were asked'],
    [{ runId: 'run-2' }, 'switched on for run-2'],
    [{ runId: null }, 'switched on for no run'],
  ])('by %j is found in the first report', (changes, words) => {
    expect(guarded().judge({ ...holding, ...changes }, 0)).toContain(words);
  });

  it('by current without any run under guard is found in the first report', () => {
    expect(new TankLimits('one', hard).judge(holding, 0)).toContain('under guard is none');
  });

  it.each([
    [{ amps: 3.5 }, '3.5 A have flowed'],
    [{ amps: -3.5 }, '3.5 A have flowed'],
    [{ readAmps: 3.5 }, 'stood at 3.5 A'],
    [{ readVolts: 7 }, 'stood at 7 V'],
  ])('by %j is found after control has had its time', (changes, words) => {
    const limits = guarded({ maxChargeAmpHours: 20 });
    const found = firstFinding(limits, { ...holding, ...changes }, 1_000, 20_000);
    expect(found?.atMs).toBe(6_000);
    expect(found?.found).toContain(words);
  });

  it('in a set-point that is read back in every fourth tick only is found all the same', () => {
    const limits = guarded();
    let foundMs: number | null = null;
    for (let tick = 0; tick < 80 && foundMs === null; tick += 1) {
      const readAmps = tick % 4 === 0 ? 3.5 : null;
      const report = { ...holding, readAmps, readVolts: null };
      if (limits.judge(report, tick * 250) !== null) foundMs = tick * 250;
    }
    expect(foundMs).toBe(5_000);
  });

  it('for a short while, as when somebody turns a knob and control trips, is none', () => {
    const limits = guarded();
    const turned = { ...holding, readAmps: 4, amps: 4 };
    expect(firstFinding(limits, turned, 0, 4_500)).toBeNull();
    expect(firstFinding(limits, holding, 4_750, 8_000)).toBeNull();
    expect(firstFinding(limits, turned, 8_250, 12_500)).toBeNull();
  });

  it('of the longest time is found within two minutes after it', () => {
    const small = { ...holding, amps: 0.1 };
    const found = firstFinding(guarded(), small, 0, 4 * 3_600_000);
    expect(found?.found).toContain('on for 2.02 h');
    expect((found?.atMs ?? Infinity) - bounds.maxDurationMs).toBeLessThan(120_000);
  });

  it('of the largest charge is found by its own count', () => {
    // 1 A for an hour and a half is 1.5 A·h; 5 % and no less than two minutes of current come on top.
    const found = firstFinding(guarded(), { ...holding, amps: 1 }, 0, 4 * 3_600_000);
    expect(found?.found).toContain('A·h have flowed');
    expect((found?.atMs ?? Infinity) / 3_600_000).toBeGreaterThan(1.5);
    expect((found?.atMs ?? Infinity) / 3_600_000).toBeLessThan(1.6);
  });

  it('is counted on for a run whose bounds are changed under way', () => {
    const limits = guarded();
    const small = { ...holding, amps: 0.1 };
    expect(firstFinding(limits, small, 0, 1.9 * 3_600_000)).toBeNull();
    // Another target: three hours in all, of which nearly two have gone.
    limits.admit({ ...bounds, maxDurationMs: 3 * 3_600_000 });
    expect(firstFinding(limits, small, 1.9 * 3_600_000, 2.9 * 3_600_000)).toBeNull();
    const found = firstFinding(limits, small, 2.9 * 3_600_000, 5 * 3_600_000);
    expect(found?.found).toContain('its run may take 3.00 h');
    expect((found?.atMs ?? Infinity) / 3_600_000).toBeLessThan(3.1);
  });

  it('is counted anew for the next run', () => {
    const limits = guarded();
    expect(firstFinding(limits, holding, 0, 1.9 * 3_600_000)).toBeNull();
    limits.release();
    limits.admit({ ...bounds, runId: 'run-2' });
    const second = { ...holding, runId: 'run-2' };
    expect(firstFinding(limits, second, 2 * 3_600_000, 3.9 * 3_600_000)).toBeNull();
  });
});

describe('a sleep of the computer', () => {
  it('is the time by which the clock since boot has gone ahead of the monotonic one', () => {
    const watch = new SleepWatch({ sinceBootMs: 10_000, awakeMs: 400 });
    expect(watch.look({ sinceBootMs: 10_050, awakeMs: 450 })).toBe(0);
    expect(watch.look({ sinceBootMs: 70_100, awakeMs: 500 })).toBe(60_000);
    expect(watch.look({ sinceBootMs: 70_150, awakeMs: 550 })).toBe(0);
  });

  it('is neither a hold-up of this process nor a coarse clock', () => {
    const watch = new SleepWatch({ sinceBootMs: 10_000, awakeMs: 400 });
    expect(watch.look({ sinceBootMs: 40_010, awakeMs: 30_400 })).toBe(0);
    expect(watch.look({ sinceBootMs: 42_000, awakeMs: 30_450 })).toBe(0);
  });

  it('must be followed by OFF within its time', () => {
    const after = new AfterSleep(5_000);
    expect(after.judge([holding], 0)).toBeNull();
    after.woke(60_000, 1_000);
    expect(after.judge([holding], 5_750)).toBeNull();
    expect(after.judge([holding], 6_000)).toContain('slept for 60 s');
    expect(after.judge([holding], 6_250)).toBeNull();
  });

  it('is no reason to end anything for an output that control has not switched on', () => {
    const after = new AfterSleep(5_000);
    after.woke(60_000, 1_000);
    const byHand = { ...holding, tankId: 'two', runId: null, switchedOn: false };
    const armed = { ...holding, output: 'confirmedOff' as const };
    expect(after.judge([armed, byHand], 9_000)).toBeNull();
  });

  it('is settled once no output is called on', () => {
    const after = new AfterSleep(5_000);
    after.woke(60_000, 1_000);
    expect(after.judge([{ ...holding, output: 'offRequested' }], 1_500)).toBeNull();
    expect(after.judge([holding], 9_000)).toBeNull();
  });
});
