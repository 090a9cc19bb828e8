/** The run machine: every cell of its table, and the paths that a night takes through it. */

import { describe, expect, it } from 'vitest';
import { step, table } from '../../daemon/run/machine.ts';
import {
  lifecycles,
  type Lifecycle,
  type RunInput,
  type RunInputKind,
} from '../../daemon/run/model.ts';
import { isFinal, isPowered } from '../../daemon/run/state.ts';
import { aPlan, Bench, limits, stages } from './a-run.ts';

const at = { atMs: 5_000 };
const inputs: { readonly [K in RunInputKind]: Extract<RunInput, { kind: K }> } = {
  arm: { kind: 'arm', ...at },
  'made-durable': { kind: 'made-durable', ...at },
  programmed: { kind: 'programmed', ...at, amps: 0.2, volts: 2.5 },
  'program-failed': { kind: 'program-failed', ...at, reason: 'refused' },
  disarm: { kind: 'disarm', ...at },
  start: { kind: 'start', ...at },
  'on-confirmed': { kind: 'on-confirmed', ...at, sentAtMs: 4_990 },
  'on-failed': { kind: 'on-failed', ...at, reason: 'still off' },
  'off-confirmed': { kind: 'off-confirmed', ...at, sentAtMs: 4_990, amps: null },
  'off-unconfirmed': {
    kind: 'off-unconfirmed',
    ...at,
    amps: null,
    reason: 'no answer',
    again: true,
  },
  reading: { kind: 'reading', ...at, reading: new Bench().reading({ atMs: 5_000 }) },
  'reading-missing': { kind: 'reading-missing', ...at, reason: 'no answer' },
  lift: { kind: 'lift', ...at },
  'put-back': { kind: 'put-back', ...at },
  change: {
    kind: 'change',
    ...at,
    change: { kind: 'density', ampsPerDm2: 0.8 },
    confirmed: false,
    by: 'a test',
  },
  'turn-every': { kind: 'turn-every', ...at, everyMinutes: 30, by: 'a test' },
  turned: { kind: 'turned', ...at, by: 'a test' },
  stop: { kind: 'stop', ...at, by: 'a test' },
  'clock-gap': { kind: 'clock-gap', ...at, gapMs: 60_000 },
  fault: { kind: 'fault', ...at, code: 'databaseLost', found: 'disk full' },
  interrupt: { kind: 'interrupt', ...at, reason: 'shut down' },
};

/** A bench in each state, reached by the inputs that lead there. */
function benchIn(lifecycle: Lifecycle): Bench {
  const trickle = { ...stages[2], kind: 'trickle' as const, durationMs: 3_600_000 } as const;
  const bench = new Bench(
    lifecycle === 'trickling'
      ? aPlan({
          stages: [...stages, { ...trickle, startAmpsPerDm2: 0.1, endAmpsPerDm2: 0.1 }],
          limits: { ...limits, maxDurationMs: 3 * 3_600_000 },
        })
      : aPlan(),
  );
  const ways: Readonly<Record<Lifecycle, () => void>> = {
    planned: () => {},
    armed: () => void bench.arm(),
    striking: () => void bench.start(),
    ramping: () => bench.start().tickUntil(() => bench.state.lifecycle === 'ramping'),
    holding: () => bench.start().tickUntil(() => bench.state.lifecycle === 'holding'),
    trickling: () => bench.start().tickUntil(() => bench.state.lifecycle === 'trickling'),
    lifted: () => {
      bench.start().tick();
      bench.tell('lift');
      bench.tell('off-confirmed');
    },
    finished: () => bench.start().tickUntil(() => bench.state.lifecycle === 'finished'),
    stopped: () => void bench.start().feed({ ...inputs.stop, atMs: bench.nowMs }),
    tripped: () => void bench.start().feed({ ...inputs.fault, atMs: bench.nowMs }),
    interrupted: () => void bench.start().feed({ ...inputs.interrupt, atMs: bench.nowMs }),
  };
  ways[lifecycle]();
  expect(bench.state.lifecycle).toBe(lifecycle);
  return bench;
}

const kinds = Object.keys(inputs) as RunInputKind[];
const cells = lifecycles.flatMap((lifecycle) => kinds.map((kind) => ({ lifecycle, kind })));

describe('the table', () => {
  it('has a row for every state and a cell for every input, and no more', () => {
    expect(Object.keys(table).toSorted()).toEqual([...lifecycles].toSorted());
    for (const lifecycle of lifecycles) {
      expect(Object.keys(table[lifecycle]).toSorted()).toEqual([...kinds].toSorted());
    }
    expect(cells).toHaveLength(11 * 21);
  });

  it.each(cells)('answers $kind in $lifecycle as its cell says', ({ lifecycle, kind }) => {
    const bench = benchIn(lifecycle);
    const before = bench.state;
    const input = { ...inputs[kind], atMs: bench.nowMs + 1 } as RunInput;
    const taken = step(before, input);
    const cell = table[lifecycle][kind];
    if (cell === 'ignore') {
      expect(taken).toEqual({ state: before, effects: [], refused: null });
    } else if ('refuse' in cell) {
      expect(taken).toEqual({ state: before, effects: [], refused: cell.refuse });
      expect(cell.refuse).toMatch(/^[A-Z].*\.$/);
    } else {
      expect(cell.move).toBeTypeOf('function');
    }
    // Whatever the cell: a run that is over never asks for current again.
    const wantsCurrent = taken.effects.some((effect) => effect.kind === 'switch-on');
    if (isFinal(taken.state.lifecycle)) expect(wantsCurrent).toBe(false);
    // And leaving the powered states always asks for OFF in the same step.
    if (isPowered(lifecycle) && !isPowered(taken.state.lifecycle)) {
      expect(taken.effects[0]).toMatchObject({ kind: 'switch-off' });
    }
  });

  it('refuses a time that is no number', () => {
    expect(() => step(new Bench().state, { kind: 'arm', atMs: Number.NaN })).toThrow(RangeError);
  });
});

describe('arming and starting', () => {
  it('asks for the row on disk first, then programs low current with protections', () => {
    const bench = new Bench();
    const [first, second] = bench.tell('arm');
    expect(first).toEqual({ kind: 'make-durable' });
    expect(second).toMatchObject({ kind: 'program', amps: 0.2, volts: 2.5, withProtection: true });
  });

  it('refuses to start before the row is on disk and the limits are read back', () => {
    const bench = new Bench();
    bench.tell('arm');
    bench.tell('start');
    expect(bench.lastRefusal).toContain('disk');
    bench.tell('made-durable');
    bench.tell('start');
    expect(bench.lastRefusal).toContain('read back');
    bench.programmed();
    expect(bench.tell('start')[0]).toMatchObject({ kind: 'program' });
  });

  it('programs everything anew at the start, and only then asks for ON', () => {
    const bench = new Bench().arm();
    bench.nowMs += 14 * 60_000;
    const asked = bench.tell('start');
    expect(asked[0]).toMatchObject({
      kind: 'program',
      amps: 0.2,
      volts: 2.5,
      withProtection: true,
    });
    expect(asked.map((effect) => effect.kind)).not.toContain('switch-on');
    expect(bench.programmed()).toEqual([{ kind: 'switch-on' }]);
  });

  it('asks again for the set-points of a start whose reply was lost, and gives up in the end', () => {
    const off = { outputOn: false, amps: 0 };
    const bench = new Bench().arm();
    bench.tell('start');
    const tick = () => {
      bench.nowMs += 250;
      const reading = bench.reading(off);
      return bench.feed({ kind: 'reading', atMs: bench.nowMs, reading });
    };
    const asked: string[] = [];
    for (let count = 0; count < 14; count += 1) asked.push(...tick().map((effect) => effect.kind));
    expect(asked).toEqual(['program']);
    expect(bench.programmed()).toEqual([{ kind: 'switch-on' }]);
    const never = new Bench().arm();
    never.tell('start');
    for (let count = 0; count < 60 && !isFinal(never.state.lifecycle); count += 1) {
      never.nowMs += 250;
      never.feed({ kind: 'reading', atMs: never.nowMs, reading: never.reading(off) });
    }
    expect(never.state.fault?.code).toBe('programRefused');
    expect(never.asked('switch-on')).toEqual([]);
  });

  it('trips when the output is found on before ON was sent', () => {
    const bench = new Bench().arm();
    bench.tell('start');
    bench.nowMs += 250;
    const reading = bench.reading({ outputOn: false, amps: 0.5 });
    bench.feed({ kind: 'reading', atMs: bench.nowMs, reading });
    expect(bench.state.fault?.code).toBe('outputFoundOn');
  });

  it.each([
    ['an output that is on', { outputOn: true, amps: 0 }, 'outputFoundOn'],
    ['current though the output says off', { outputOn: false, amps: 0.4 }, 'outputFoundOn'],
    [
      'a protection that stands',
      { outputOn: false, amps: 0, supplyTrips: ['overCurrent'] },
      'supplyTripped',
    ],
  ] as const)('trips while only armed on %s', (_name, changes, code) => {
    const bench = new Bench().arm();
    bench.tick(changes);
    expect(bench.state.fault?.code).toBe(code);
  });

  it.each([
    ['another current', { setAmps: 3 }],
    ['another voltage', { setVolts: 1.2 }],
    ['a supply that was switched on anew', { restarted: true }],
  ])('programs again when it finds %s while armed', (_name, changes) => {
    const bench = new Bench().arm();
    const asked = bench.tick({ outputOn: false, amps: 0, ...changes });
    expect(asked).toMatchObject([{ kind: 'program', withProtection: true }]);
  });

  it('does not hold a protection against a run that has yet to reset it', () => {
    const bench = new Bench();
    bench.tell('arm');
    bench.tick({ outputOn: false, amps: 0, supplyTrips: ['overVoltage'] });
    expect(bench.state.lifecycle).toBe('armed');
  });

  it('lets an armed run go when nobody starts it', () => {
    const bench = new Bench().arm();
    bench.tick({ outputOn: false, amps: 0 }, 16 * 60_000);
    expect(bench.state.lifecycle).toBe('stopped');
  });

  it('asks again for a set-point that was not answered', () => {
    const armed = new Bench();
    armed.tell('arm');
    armed.tell('made-durable');
    const off = { outputOn: false, amps: 0 };
    armed.nowMs += 2_000;
    expect(armed.feed({ kind: 'reading', atMs: armed.nowMs, reading: armed.reading(off) })).toEqual(
      [],
    );
    armed.nowMs += 1_500;
    const again = armed.feed({ kind: 'reading', atMs: armed.nowMs, reading: armed.reading(off) });
    expect(again.map((effect) => effect.kind)).toEqual(['program']);
  });

  it('trips when ON is never confirmed', () => {
    const bench = new Bench().arm();
    bench.tell('start');
    bench.programmed();
    bench.tickUntil(() => isFinal(bench.state.lifecycle), { outputOn: false, amps: 0 });
    expect(bench.state.fault?.code).toBe('outputRefused');
  });
});

describe('an ON that was never confirmed', () => {
  it('bounds the charge that may have flowed from when it was asked for to the confirmed OFF', () => {
    const bench = new Bench().arm();
    bench.tell('start');
    bench.programmed();
    const askedAtMs = bench.nowMs;
    bench.nowMs += 1_300;
    bench.feed({ kind: 'on-failed', atMs: bench.nowMs, reason: 'No reply in 500 ms.' });
    bench.nowMs += 5_000;
    bench.tell('off-confirmed');
    const hours = (bench.nowMs - askedAtMs) / 3_600_000;
    expect(bench.state.outcome?.faultCode).toBe('outputRefused');
    expect(bench.state.charge).toMatchObject({ ampHours: 0, lowAmpHours: 0 });
    expect(bench.state.charge.highAmpHours).toBeCloseTo(0.2 * hours, 9);
    expect(bench.state.charge.gaps).toHaveLength(1);
  });

  it('counts from when it was asked for once the supply says that the output is on', () => {
    const bench = new Bench().arm();
    bench.tell('start');
    bench.programmed();
    const askedAtMs = bench.nowMs;
    bench.tick({ amps: 0.2 }, 1_000);
    expect(bench.state.output).toBe('on');
    bench.tick({ amps: 0.2 });
    const hours = (bench.nowMs - askedAtMs) / 3_600_000;
    expect(bench.state.charge.ampHours).toBeCloseTo(0.2 * hours, 9);
  });
});

describe('a whole night', () => {
  it('strikes, ramps, holds and stops at the target by itself', () => {
    const bench = new Bench().start();
    const seen = new Set<Lifecycle>();
    bench.tickUntil(() => {
      seen.add(bench.state.lifecycle);
      return isFinal(bench.state.lifecycle);
    });
    expect([...seen]).toEqual(['striking', 'ramping', 'holding', 'finished']);
    expect(bench.state.outcome).toMatchObject({ end: 'reached' });
    // Half a tick at 1 A is 0.035 mAh: the target is met to within that.
    expect(Math.abs(bench.state.charge.ampHours - 1)).toBeLessThan(0.25 / 3600 / 2 + 1e-9);
    expect(bench.state.output).toBe('offRequested');
    bench.tell('off-confirmed');
    expect(bench.state.output).toBe('confirmedOff');
  });

  it('raises the current along the ramp in small strides and never above the hold', () => {
    const bench = new Bench().start();
    bench.tickUntil(() => isFinal(bench.state.lifecycle));
    const amps = bench
      .asked('program')
      .map((effect) => (effect.kind === 'program' ? effect.amps : Number.NaN));
    expect(Math.max(...amps)).toBe(1);
    for (const [index, value] of amps.entries()) {
      expect(value).toBeGreaterThanOrEqual(amps[index - 1] ?? 0);
    }
    expect(amps.length).toBeGreaterThan(100);
  });

  it('keeps a finished piece at a trickle for a bounded time when asked to', () => {
    const bench = benchIn('trickling');
    expect(bench.state.confirmedAmps).toBeCloseTo(0.1, 6);
    bench.tickUntil(() => isFinal(bench.state.lifecycle));
    expect(bench.state.outcome).toMatchObject({ end: 'reached' });
  });

  it('carries the charge of the run it goes on from', () => {
    const carried = { ampHours: 0.9, lowAmpHours: 0.85, highAmpHours: 1 };
    const bench = new Bench(aPlan(), carried).start();
    expect(bench.state.charge).toMatchObject(carried);
    bench.tickUntil(() => isFinal(bench.state.lifecycle));
    expect(bench.state.outcome).toMatchObject({ end: 'reached' });
    expect(bench.state.charge.ampHours).toBeCloseTo(1, 3);
    expect(bench.state.poweredMs).toBeLessThan(20 * 60_000);
  });
});

describe('lifting', () => {
  it('switches off, keeps the charge, and comes back through the ramp', () => {
    const bench = benchIn('holding');
    const before = bench.state.charge.ampHours;
    expect(bench.tell('lift')[0]).toMatchObject({ kind: 'switch-off' });
    bench.tell('put-back');
    expect(bench.lastRefusal).toContain('not confirmed off');
    bench.tell('off-confirmed');
    bench.nowMs += 20 * 60_000;
    bench.tell('put-back');
    expect(bench.state.lifecycle).toBe('ramping');
    expect(bench.programmed()).toEqual([{ kind: 'switch-on' }]);
    expect(bench.state.confirmedAmps).toBeCloseTo(0.2, 3);
    bench.tell('on-confirmed');
    bench.tick();
    expect(bench.state.charge.ampHours - before).toBeLessThan(1e-3);
    bench.tickUntil(() => isFinal(bench.state.lifecycle));
    expect(bench.state.outcome).toMatchObject({ end: 'reached' });
  });

  it('reminds of a piece that hangs outside, and lets it go in the end', () => {
    const bench = benchIn('lifted');
    bench.tickUntil(() => isFinal(bench.state.lifecycle), { outputOn: false, amps: 0 }, 200_000);
    const reminders = bench
      .asked('event')
      .filter((effect) => effect.kind === 'event' && effect.event.code === 'liftReminder');
    expect(reminders.length).toBe(24);
    expect(bench.state.lifecycle).toBe('stopped');
  });

  it('switches off again when the output is found on while lifted', () => {
    const bench = benchIn('lifted');
    const asked = bench.tick({ outputOn: true });
    expect(asked[0]).toMatchObject({ kind: 'switch-off' });
    expect(asked[1]).toMatchObject({ kind: 'alarm', fault: { code: 'outputFoundOn' } });
  });

  it('does not take a supply at its word that says off while current flows', () => {
    const bench = benchIn('lifted');
    expect(bench.tick({ outputOn: false, amps: 0.3 })[0]).toMatchObject({ kind: 'switch-off' });
  });
});

describe('off', () => {
  it('is asked for again until it is confirmed, and calls a person after three seconds', () => {
    const bench = new Bench().start();
    bench.tick();
    bench.feed({ ...inputs.stop, atMs: bench.nowMs });
    for (const waitMs of [1_000, 2_000]) {
      const asked = bench.feed({
        kind: 'off-unconfirmed',
        atMs: bench.nowMs + waitMs,
        amps: null,
        reason: 'no answer',
        again: true,
      });
      expect(asked.map((effect) => effect.kind)).toEqual(['switch-off']);
    }
    const late = bench.feed({
      kind: 'off-unconfirmed',
      atMs: bench.nowMs + 3_100,
      amps: null,
      reason: 'no answer',
      again: true,
    });
    expect(late.map((effect) => effect.kind)).toEqual(['switch-off', 'alarm']);
    expect(bench.state.output).toBe('unknown');
    const later = bench.feed({
      kind: 'off-unconfirmed',
      atMs: bench.nowMs + 9_000,
      amps: null,
      reason: 'no answer',
      again: true,
    });
    expect(later.map((effect) => effect.kind)).toEqual(['switch-off']);
  });

  it('bounds the charge by the current that its looks found, where that was beyond the set-point', () => {
    const bench = new Bench().start();
    bench.tick();
    const before = bench.state.charge;
    bench.feed({ ...inputs.stop, atMs: bench.nowMs });
    const fromMs = bench.nowMs;
    bench.nowMs += 1_200;
    const found = { amps: 6, reason: 'it says on', again: true };
    bench.feed({ kind: 'off-unconfirmed', atMs: bench.nowMs, ...found });
    bench.nowMs += 800;
    bench.tell('off-confirmed');
    const { charge } = bench.state;
    const hours = (bench.nowMs - fromMs) / 3_600_000;
    expect(charge.highAmpHours - before.highAmpHours).toBeCloseTo(6 * hours, 12);
    expect(charge.gaps).toHaveLength(before.gaps.length + 1);
  });

  it('bounds it so by the looks of an OFF that is confirmed in the end', () => {
    const bench = new Bench().start();
    bench.tick();
    const before = bench.state.charge;
    bench.feed({ ...inputs.stop, atMs: bench.nowMs });
    bench.nowMs += 1_000;
    const sentAtMs = bench.nowMs - 900;
    bench.feed({ kind: 'off-confirmed', atMs: bench.nowMs, sentAtMs, amps: 6 });
    const { charge } = bench.state;
    expect(charge.highAmpHours - before.highAmpHours).toBeCloseTo(6 / 3_600, 12);
    expect(charge.gaps).toHaveLength(before.gaps.length + 1);
  });

  it('bounds what the computer slept since the last measurement by what a look found after it', () => {
    const bench = new Bench().start();
    bench.tick();
    const before = bench.state.charge;
    bench.feed({ kind: 'clock-gap', atMs: bench.nowMs, gapMs: 8 * 3_600_000 });
    const { confirmedAmps } = bench.state;
    const slept = bench.state.charge.highAmpHours - before.highAmpHours;
    expect(slept).toBeCloseTo(8 * Math.max(confirmedAmps, before.lastAmps), 9);
    const found = { reason: 'it says on', again: true };
    bench.feed({ kind: 'off-unconfirmed', atMs: bench.nowMs, amps: 3, ...found });
    expect(bench.state.charge.highAmpHours - before.highAmpHours).toBeCloseTo(8 * 3, 9);
    bench.feed({ kind: 'off-unconfirmed', atMs: bench.nowMs, amps: 2, ...found });
    bench.feed({ kind: 'off-unconfirmed', atMs: bench.nowMs, amps: 6, ...found });
    bench.tell('off-confirmed');
    const { highAmpHours, gaps, lowAmpHours } = bench.state.charge;
    expect(highAmpHours - before.highAmpHours).toBeCloseTo(8 * 6, 9);
    const inGaps = gaps.reduce((sum, gap) => sum + gap.highAmpHours, 0);
    expect(highAmpHours - lowAmpHours).toBeCloseTo(inGaps, 9);
  });

  it('keeps what was found, and asks for nothing, where somebody else sees to the next attempt', () => {
    const bench = new Bench().start();
    bench.tick();
    bench.feed({ ...inputs.stop, atMs: bench.nowMs });
    const found = { amps: 6, reason: 'it says on', again: false };
    const asked = bench.feed({ kind: 'off-unconfirmed', atMs: bench.nowMs + 9_000, ...found });
    expect(asked).toEqual([]);
    expect(bench.state).toMatchObject({ output: 'offRequested', charge: { glimpsedAmps: 6 } });
  });

  it('calls a person in time even while an attempt at OFF is still under way', () => {
    const bench = new Bench().start();
    bench.feed({ ...inputs.stop, atMs: bench.nowMs });
    const missing = (laterMs: number) =>
      bench.feed({ kind: 'reading-missing', atMs: bench.nowMs + laterMs, reason: 'no answer' });
    expect(missing(2_900)).toEqual([]);
    expect(missing(3_100).map((effect) => effect.kind)).toEqual(['alarm']);
    expect(missing(5_000)).toEqual([]);
  });

  it('is sent for every stop, also when the run is over', () => {
    const bench = benchIn('finished');
    bench.tell('off-confirmed');
    const asked = bench.feed({ ...inputs.stop, atMs: bench.nowMs });
    expect(asked.map((effect) => effect.kind)).toEqual(['switch-off']);
  });

  it('is sent, with an alarm, when the output comes on after a confirmed end', () => {
    const bench = benchIn('finished');
    bench.tell('off-confirmed');
    expect(bench.tick({ outputOn: false, amps: 0 })).toEqual([]);
    const asked = bench.tick({ outputOn: false, amps: 0.3 });
    expect(asked.map((effect) => effect.kind)).toEqual(['switch-off', 'alarm']);
    expect(asked[1]).toMatchObject({ fault: { code: 'outputFoundOn' }, priority: 'stopped' });
    expect(bench.state.output).toBe('offRequested');
    // One finding, one alarm: the next readings wait for the OFF.
    expect(bench.tick({ outputOn: true })).toEqual([]);
    expect(bench.state.outcome).toMatchObject({ end: 'reached' });
  });

  it('calls a person where readings go on to say that it is on while OFF is not answered', () => {
    const bench = benchIn('finished');
    const alarms: unknown[] = [];
    for (let count = 0; count < 40; count += 1) {
      const asked = bench.tick({ outputOn: true });
      alarms.push(...asked.filter((effect) => effect.kind === 'alarm'));
      if (count < 8) expect(alarms).toEqual([]);
    }
    expect(alarms).toMatchObject([{ fault: { code: 'offUnconfirmed' }, priority: 'stopped' }]);
  });

  it('calls once in ten minutes for a leak that is found again and again, and sends OFF each time', () => {
    const bench = benchIn('finished');
    bench.tell('off-confirmed');
    const asked: string[] = [];
    for (let count = 0; count < 100; count += 1) {
      asked.push(...bench.tick({ outputOn: false, amps: 0.03 }, 1_000).map(({ kind }) => kind));
      bench.tell('off-confirmed');
    }
    expect(asked.filter((kind) => kind === 'switch-off')).toHaveLength(100);
    expect(asked.filter((kind) => kind === 'alarm')).toHaveLength(1);
    bench.tick({ outputOn: false, amps: 0.03 }, 10 * 60_000);
    expect(bench.asked('alarm')).toHaveLength(2);
  });

  it('answers an ON that comes too late', () => {
    const bench = new Bench().arm();
    bench.tell('start');
    bench.programmed();
    bench.feed({ ...inputs.stop, atMs: bench.nowMs });
    expect(bench.tell('on-confirmed')[0]).toMatchObject({ kind: 'switch-off' });
  });
});

describe('silence and sleep', () => {
  it('bears missing readings for less than two seconds and trips after', () => {
    const bench = new Bench().start();
    bench.tick();
    bench.feed({ kind: 'reading-missing', atMs: bench.nowMs + 1_900, reason: 'no answer' });
    expect(bench.state.lifecycle).toBe('striking');
    bench.feed({ kind: 'reading-missing', atMs: bench.nowMs + 2_000, reason: 'no answer' });
    expect(bench.state.fault?.code).toBe('silence');
  });

  it('trips after the computer slept and bounds the charge by the set-point', () => {
    const bench = benchIn('holding');
    while (bench.state.confirmedAmps < 1) bench.tick();
    const { ampHours, highAmpHours } = bench.state.charge;
    bench.feed({ kind: 'clock-gap', atMs: bench.nowMs, gapMs: 3_600_000 });
    expect(bench.state.fault?.code).toBe('clockGap');
    expect(bench.state.charge.ampHours).toBe(ampHours);
    expect(bench.state.charge.highAmpHours - highAmpHours).toBeCloseTo(1, 6);
    expect(bench.state.charge.gaps).toHaveLength(1);
  });

  it('bounds the charge also when the computer slept before ON or OFF was confirmed', () => {
    const starting = new Bench().arm();
    starting.tell('start');
    starting.programmed();
    starting.feed({ kind: 'clock-gap', atMs: starting.nowMs, gapMs: 3_600_000 });
    expect(starting.state.fault?.code).toBe('clockGap');
    expect(starting.state.charge.highAmpHours).toBeCloseTo(0.2, 6);
    const lifted = benchIn('holding');
    lifted.tell('lift');
    const { highAmpHours } = lifted.state.charge;
    lifted.feed({ kind: 'clock-gap', atMs: lifted.nowMs, gapMs: 3_600_000 });
    expect(lifted.state.lifecycle).toBe('lifted');
    expect(lifted.state.charge.highAmpHours).toBeGreaterThan(highAmpHours + 0.1);
  });

  it('does not come on hours after the press when the computer slept before ON was sent', () => {
    const bench = new Bench().arm();
    bench.tell('start');
    bench.feed({ kind: 'clock-gap', atMs: bench.nowMs, gapMs: 8 * 3_600_000 });
    expect(bench.state.fault?.code).toBe('clockGap');
    expect(bench.programmed()).toEqual([]);
    expect(bench.state.charge.highAmpHours).toBe(0);
  });

  it('keeps the first cause when more faults follow', () => {
    const bench = new Bench().start();
    bench.feed({ ...inputs.fault, atMs: bench.nowMs });
    bench.feed({ kind: 'fault', atMs: bench.nowMs, code: 'wrongDevice', found: 'later' });
    expect(bench.state.fault?.code).toBe('databaseLost');
  });

  it('declares the stretch at whose end the current was beyond its limit', () => {
    const bench = new Bench().start();
    for (let count = 0; count < 8; count += 1) bench.tick();
    expect(bench.state.charge.gaps).toEqual([]);
    const fromMs = bench.nowMs;
    const { ampHours, lowAmpHours, highAmpHours } = bench.state.charge;
    bench.tick({ amps: 6 });
    expect(bench.state.fault?.code).toBe('overCurrent');
    const [gap, ...more] = bench.state.charge.gaps;
    expect(more).toEqual([]);
    // It may have begun just after the last reading, or just before this one.
    const most = (6 * (bench.nowMs - fromMs)) / 3_600_000;
    expect(gap).toMatchObject({ fromMs, toMs: bench.nowMs, lowAmpHours: 0 });
    expect(gap?.highAmpHours).toBeCloseTo(most, 12);
    expect(bench.state.charge.lowAmpHours).toBe(lowAmpHours);
    expect(bench.state.charge.highAmpHours).toBeCloseTo(highAmpHours + most, 12);
    expect(bench.state.charge.ampHours).toBeGreaterThan(ampHours);
  });
});
