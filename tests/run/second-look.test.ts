/** Which readings are asked for again: what would call a person, and what jumps; nothing else. */

import { describe, expect, it } from 'vitest';
import { tryReading } from '../../daemon/run/second-look.ts';
import { stepsWithin } from '../../daemon/run/moves.ts';
import type { RunReading } from '../../daemon/run/model.ts';
import { aPlan, Bench, limits } from './a-run.ts';

function holding(): Bench {
  const bench = new Bench().start();
  bench.tickUntil(() => bench.state.lifecycle === 'holding');
  for (let count = 0; count < 40; count += 1) bench.tick();
  return bench;
}

function doubt(bench: Bench, changes: Partial<RunReading>) {
  const atMs = bench.nowMs + 250;
  return tryReading(bench.state, bench.reading({ atMs, ...changes })).doubt;
}

describe('a reading in a hold at 1 A', () => {
  it.each([
    [{}, null],
    [{ amps: 1.19 }, null],
    [{ amps: 0.81 }, null],
    [{ amps: 1.21 }, 'jump'],
    [{ amps: 0.1 }, 'jump'],
    [{ amps: 1.6 }, 'alarm'],
    [{ volts: 3.2 }, 'alarm'],
    [{ volts: 0.02 }, null],
    [{ supplyTrips: ['overCurrent'] }, 'alarm'],
    [{ restarted: true }, 'alarm'],
    // The first of two in a row that this takes.
    [{ outputOn: false }, null],
    // What stands until the set-points are read again.
    [{ setAmps: 0.5 }, 'jump'],
    [{ setAmps: 9 }, 'jump'],
    [{ setVolts: 2.4 }, 'jump'],
  ] as const)('%j: %s', (changes, expected) => {
    expect(doubt(holding(), changes)).toBe(expected);
  });

  it('is doubted at the second in a row that would trip, and changes nothing by being doubted', () => {
    const bench = holding();
    bench.tick({ outputOn: false });
    const before = bench.state;
    expect(doubt(bench, { outputOn: false })).toBe('alarm');
    expect(bench.state).toBe(before);
    expect(bench.state.lifecycle).toBe('holding');
  });

  it('may come from nowhere right after ON', () => {
    expect(doubt(new Bench().start(), { amps: 0 })).toBeNull();
  });

  it('of a tiny current may jump by five steps of the supply', () => {
    const bench = new Bench(aPlan({ limits: { ...limits, maxAmps: 0.011 } })).start();
    for (let count = 0; count < 4; count += 1) bench.tick();
    expect(doubt(bench, { amps: bench.state.confirmedAmps - 0.005 })).toBeNull();
  });
});

describe('set-points that read as they were given', () => {
  it('are not asked for again, nor within a step of it, nor while they are on their way', () => {
    const bench = holding();
    const { confirmedAmps, plan } = bench.state;
    const given = { setAmps: confirmedAmps, setVolts: plan.limits.setVolts };
    expect(doubt(bench, given)).toBeNull();
    const { stepAmps, stepVolts } = plan.tank.supply;
    const near = { setAmps: given.setAmps + stepAmps, setVolts: given.setVolts - stepVolts };
    expect(doubt(bench, near)).toBeNull();
    const { state } = bench;
    const reading = bench.reading({ atMs: bench.nowMs + 250, setAmps: 0.5 });
    expect(tryReading({ ...state, programming: true }, reading).doubt).toBeNull();
  });
});

describe('a run that is armed', () => {
  it.each([
    [{ outputOn: false, amps: 0, live: false }, null],
    [{ outputOn: true, amps: 0, live: true }, 'alarm'],
    [{ outputOn: false, amps: 0, live: false, supplyTrips: ['overVoltage'] }, 'alarm'],
  ] as const)('%j: %s', (changes, expected) => {
    const bench = new Bench().arm();
    bench.tell('off-confirmed');
    expect(doubt(bench, changes)).toBe(expected);
  });
});

describe('what a supply confirms', () => {
  it.each([
    [{ amps: Number.NaN, volts: 2.5 }],
    [{ amps: Number.POSITIVE_INFINITY, volts: 2.5 }],
    [{ amps: 1.6, volts: 2.5 }],
    [{ amps: 0.2, volts: 3.5 }],
    [{ amps: 0.2, volts: Number.NaN }],
  ])('%j is beyond the run, which trips before ON', (set) => {
    const bench = new Bench();
    bench.tell('arm');
    bench.feed({ kind: 'programmed', atMs: bench.nowMs, ...set });
    expect(bench.state.fault?.code).toBe('programRefused');
    expect(bench.asked('switch-on')).toEqual([]);
  });
});

describe('whole steps of a supply', () => {
  it.each([
    [0.3, 0.3, 0.1, 0.3],
    [2.9995, 2.9995, 0.001, 2.999],
    [0.45, 5, 0.1, 0.5],
    [0, 5, 0.001, 0],
  ])('%d A, at most %d A, in steps of %d A: %d A', (amps, most, stepAmps, expected) => {
    expect(stepsWithin(amps, most, stepAmps)).toBe(expected);
  });

  it('never lift a current above its bound, wherever the bound lies', () => {
    for (let count = 1; count < 5_000; count += 1) {
      const most = count * 0.00037;
      for (const stepAmps of [0.0001, 0.001, 0.01]) {
        expect(stepsWithin(most, most, stepAmps)).toBeLessThanOrEqual(most);
      }
    }
  });
});
