/** Probes in the run machine: what they ask, what they answer, and that every rule of a run holds for them. */

import { describe, expect, it } from 'vitest';
import type { RunReading } from '../../daemon/run/model.ts';
import { planProbe, steadyBounds, steadyMs } from '../../daemon/run/probe-plan.ts';
import type { ProbeKind } from '../../daemon/run/probe-model.ts';
import { planSchema } from '../../daemon/wire/plan.ts';
import { aPlan, bath, Bench } from './a-run.ts';

const line = { cycleMs: 250, offAmps: 0.01, maxSilenceMs: 2_000 };
const { tank } = aPlan();

function plan(kind: ProbeKind, changes: Partial<typeof tank> = {}, offAmps = 0.01) {
  return planProbe(kind, { ...tank, ...changes }, bath, { ...line, offAmps });
}

function started(kind: ProbeKind): Bench {
  return new Bench(plan(kind)).start();
}

function confirmOff(bench: Bench, afterMs: number): void {
  bench.nowMs += afterMs;
  bench.tell('off-confirmed');
}

describe('the plan of a probe', () => {
  it.each(['continuity', 'drill', 'meter'] as const)('fits the schema of plans: %s', (kind) => {
    expect(planSchema.parse(plan(kind))).toEqual(plan(kind));
  });

  it('takes a small share of the tank, and stays within its limits', () => {
    for (const maxAmps of [0.02, 0.1, 1, 3, 20]) {
      const { probe, limits } = plan('drill', { maxAmps });
      expect(probe?.amps).toBeLessThanOrEqual(maxAmps / 2 + 0.001);
      expect(limits.maxAmps).toBeLessThanOrEqual(maxAmps);
      expect(limits.maxAmps).toBeGreaterThan(probe?.amps ?? 0);
      expect(limits.overCurrentAmps).toBe(limits.maxAmps);
      expect(probe?.volts).toBeLessThanOrEqual(2);
      expect(limits.maxVolts).toBeLessThanOrEqual(4);
    }
    expect(plan('drill', { maxAmps: 20 }).probe?.amps).toBeLessThanOrEqual(0.101);
  });

  it('is told from noise: five times what counts as none', () => {
    expect(plan('continuity', { maxAmps: 1 }, 0.05).probe?.amps).toBeCloseTo(0.25, 9);
  });
});

describe('a continuity check', () => {
  const looks: readonly [string, Partial<RunReading>, string, RegExp][] = [
    ['a closed circuit', { amps: 0.05, volts: 0.06 }, 'closed', /Closed: 0\.050 A at 0\.060 V/],
    ['an open one', { amps: 0, volts: 2 }, 'open', /Open: 0\.000 A at 2\.000 V/],
    ['a shorted one', { amps: 0.05, volts: 0.003 }, 'shorted', /Shorted: 0\.050 A at 0\.003 V/],
    ['thin paint', { amps: 0.01, volts: 2 }, 'closed', /200 ohms/],
  ];

  it.each(looks)('tells %s with its numbers', (_what, reading, verdict, words) => {
    const bench = started('continuity');
    bench.tickUntil(() => bench.state.lifecycle === 'finished', reading, 60);
    expect(bench.state.probe?.finding).toMatchObject({ verdict });
    expect(bench.state.outcome?.reason).toMatch(words);
    expect(bench.asked('switch-off')).toHaveLength(1);
    // What it was asked about is an answer, and wakes nobody.
    expect(bench.asked('alarm')).toEqual([]);
    confirmOff(bench, 200);
    expect(bench.state.output).toBe('confirmedOff');
  });

  it('takes seconds: it looks at settled readings only', () => {
    const bench = started('continuity');
    const fromMs = bench.nowMs;
    // While the current comes up it looks like an open circuit.
    for (let count = 0; count < 4; count += 1) bench.tick({ amps: 0, volts: 0.1 });
    bench.tickUntil(() => bench.state.lifecycle === 'finished', { amps: 0.05, volts: 0.06 }, 60);
    expect(bench.state.probe?.finding?.verdict).toBe('closed');
    expect(bench.nowMs - fromMs).toBeGreaterThanOrEqual(2_500);
    expect(bench.nowMs - fromMs).toBeLessThan(5_000);
  });

  it('trips like any run on what it was not asked about', () => {
    const bench = started('continuity');
    bench.tick({ amps: 1.4, volts: 0.2 });
    expect(bench.state).toMatchObject({ lifecycle: 'tripped', fault: { code: 'overCurrent' } });
    expect(bench.asked('alarm')).toHaveLength(1);
  });

  it('trips on silence, and has a deadline', () => {
    const mute = started('continuity');
    mute.nowMs += 2_100;
    mute.feed({ kind: 'reading-missing', atMs: mute.nowMs, reason: 'no reply' });
    expect(mute.state).toMatchObject({ lifecycle: 'tripped', fault: { code: 'silence' } });
    expect(mute.state.plan.limits.maxDurationMs).toBeLessThanOrEqual(30_000);
    expect(mute.state.plan.limits.maxChargeAmpHours).toBeLessThan(0.01);
  });

  it.each([
    ['open', { amps: 0, volts: 2 }],
    ['shorted', { amps: 0.05, volts: 0.003 }],
  ])('ends at its longest time however %s the circuit looks', (_what, reading) => {
    // A look that never has its answer: the deadline must not hide behind what is no fault here.
    const waiting = plan('continuity');
    if (waiting.probe == null) throw new Error('no probe');
    const bench = new Bench({ ...waiting, probe: { ...waiting.probe, lookMs: 1e9 } }).start();
    bench.tickUntil(() => bench.state.lifecycle !== 'striking', reading, 4 * 32);
    expect(bench.state).toMatchObject({ lifecycle: 'tripped', fault: { code: 'tooLong' } });
  });

  it('is switched on only once it is durable and its limits are read back', () => {
    const bench = new Bench(plan('continuity'));
    bench.tell('arm');
    bench.tell('start');
    expect(bench.lastRefusal).toMatch(/not written to disk/);
    expect(bench.asked('switch-on')).toEqual([]);
    expect(bench.asked('program')[0]).toMatchObject({ withProtection: true });
  });

  it('cannot be lifted', () => {
    const bench = started('continuity');
    bench.tell('lift');
    expect(bench.lastRefusal).toMatch(/seconds/);
  });
});

describe('a limits drill', () => {
  const flowing = { amps: 0.05, volts: 0.06 };

  it('puts the limit below the flowing current, trips, and passes once OFF is read back', () => {
    const bench = started('drill');
    bench.tickUntil(() => bench.state.probe?.lowered === true, flowing, 60);
    expect(bench.state.lifecycle).toBe('striking');
    bench.tick(flowing);
    expect(bench.state.lifecycle).toBe('finished');
    expect(bench.state.outcome?.reason).toMatch(/0\.050 A is above the limit of 0\.025 A/);
    // Not before it is read back.
    expect(bench.state.probe?.finding?.offMs).toBeNull();
    confirmOff(bench, 400);
    expect(bench.state.probe?.finding).toMatchObject({ verdict: 'passed', offMs: 400 });
    expect(bench.state.probe?.finding?.sentence).toMatch(
      /read back after 400 ms; the bound is 3\.0 s/,
    );
    expect(bench.asked('alarm')).toEqual([]);
  });

  it('fails where OFF is read back too late, and a person is called as in any run', () => {
    const bench = started('drill');
    bench.tickUntil(() => bench.state.lifecycle === 'finished', flowing, 60);
    bench.nowMs += 3_100;
    bench.feed({
      kind: 'off-unconfirmed',
      atMs: bench.nowMs,
      amps: null,
      reason: 'no reply',
      again: true,
    });
    expect(bench.asked('alarm')).toHaveLength(1);
    confirmOff(bench, 900);
    expect(bench.state.probe?.finding).toMatchObject({ verdict: 'failed', offMs: 4_000 });
  });

  it.each([
    ['the circuit opens', { amps: 0, volts: 2 }],
    ['it is shorted and hardly carries', { amps: 0.02, volts: 0.001 }],
    ['the current halves', { amps: 0.02, volts: 1 }],
  ])('fails within seconds where %s before the lowered limit can trip', (_what, reading) => {
    const bench = started('drill');
    bench.tickUntil(() => bench.state.probe?.lowered === true, flowing, 60);
    bench.tickUntil(() => bench.state.lifecycle !== 'striking', reading, 8);
    expect(bench.state.lifecycle).toBe('finished');
    expect(bench.state.probe?.finding).toMatchObject({ verdict: 'failed', offMs: null });
    expect(bench.state.outcome?.reason).toMatch(/by itself, below the limit of 0\.025 A/);
    expect(bench.asked('switch-off')).toHaveLength(1);
  });

  it('keeps its first word when OFF is pressed and read back again later', () => {
    const bench = started('drill');
    bench.tickUntil(() => bench.state.lifecycle === 'finished', flowing, 60);
    confirmOff(bench, 400);
    const finding = bench.state.probe?.finding;
    bench.nowMs += 10_000;
    bench.feed({ kind: 'stop', atMs: bench.nowMs, by: 'a test' });
    confirmOff(bench, 200);
    expect(bench.state.probe?.finding).toEqual(finding);
  });

  it('fails where no current flows that could be limited', () => {
    const bench = started('drill');
    bench.tickUntil(() => bench.state.lifecycle === 'finished', { amps: 0.001, volts: 2 }, 60);
    expect(bench.state.probe?.finding).toMatchObject({ verdict: 'failed', offMs: null });
    expect(bench.state.outcome?.reason).toMatch(/Only 0\.001 A flowed.*more than 0\.025 A/);
    confirmOff(bench, 200);
    expect(bench.state.probe?.finding?.verdict).toBe('failed');
  });
});

describe('a steady current for the meter', () => {
  it('lies where a meter can be told, and leaves room below the limits', () => {
    for (const maxAmps of [0.5, 3, 20]) {
      const { leastAmps, mostAmps } = steadyBounds({ ...tank, maxAmps }, 0.01);
      const most = Math.min(maxAmps, tank.supply.maxAmps);
      expect(leastAmps).toBeGreaterThanOrEqual(0.1 * most - 1e-9);
      expect(leastAmps).toBeLessThan(mostAmps);
      expect(mostAmps).toBeLessThan(most);
      const { limits, probe } = planProbe('meter', { ...tank, maxAmps }, bath, line, mostAmps);
      expect(probe?.amps).toBe(mostAmps);
      expect(limits.maxAmps).toBeLessThanOrEqual(maxAmps);
      expect(limits.maxAmps).toBeGreaterThan(mostAmps);
    }
  });

  it('stays on as it was asked for, and goes off by itself', () => {
    const bench = started('meter');
    const fromMs = bench.nowMs;
    const amps = bench.state.plan.probe?.amps ?? 0;
    bench.tickUntil(() => bench.state.lifecycle !== 'striking', { amps, volts: 1.5 }, 4 * 200);
    expect(bench.state.lifecycle).toBe('finished');
    expect(bench.nowMs - fromMs).toBeGreaterThanOrEqual(steadyMs);
    expect(bench.nowMs - fromMs).toBeLessThan(steadyMs + 2_000);
    expect(bench.asked('switch-off')).toHaveLength(1);
    expect(bench.asked('alarm')).toEqual([]);
    expect(bench.state.outcome?.reason).toMatch(/^Off by itself after 3 min/);
  });

  it('ends at once without a circuit, bears a meter that is all there is, and trips like any run', () => {
    const open = started('meter');
    const volts = open.state.plan.probe?.volts ?? 0;
    open.tickUntil(() => open.state.lifecycle !== 'striking', { amps: 0, volts }, 60);
    expect(open.state.probe?.finding).toMatchObject({ verdict: 'open' });
    const amps = open.state.plan.probe?.amps ?? 0;
    const short = started('meter');
    for (let count = 0; count < 40; count += 1) short.tick({ amps, volts: 0.01 });
    expect(short.state.lifecycle).toBe('striking');
    short.tick({ amps: 1.6 * amps, volts: 0.2 });
    short.tick({ amps: 1.6 * amps, volts: 0.2 });
    expect(short.state).toMatchObject({ lifecycle: 'tripped', fault: { code: 'overCurrent' } });
  });

  it('ends within seconds when a lead falls off in its last minute', () => {
    const bench = started('meter');
    const { amps = 0, volts = 0 } = bench.state.plan.probe ?? {};
    for (let count = 0; count < 4 * 120; count += 1) bench.tick({ amps, volts: 1.5 });
    expect(bench.state.lifecycle).toBe('striking');
    const fromMs = bench.nowMs;
    bench.tickUntil(() => bench.state.lifecycle !== 'striking', { amps: 0, volts }, 60);
    expect(bench.state.probe?.finding).toMatchObject({ verdict: 'open', amps: 0 });
    expect(bench.nowMs - fromMs).toBeLessThan(10_000);
    expect(bench.asked('alarm')).toEqual([]);
  });

  it('names no figure where no reading had settled', () => {
    const hasty = plan('meter');
    if (hasty.probe == null) throw new Error('no probe');
    const bench = new Bench({ ...hasty, probe: { ...hasty.probe, lookMs: 250 } }).start();
    bench.tickUntil(() => bench.state.lifecycle !== 'striking', { amps: 0.3, volts: 1.5 }, 20);
    expect(bench.state.outcome?.reason).toMatch(/The current never settled\.$/);
    expect(bench.state.probe?.finding).toMatchObject({ verdict: 'failed', amps: 0.3, volts: 1.5 });
  });

  it('has a deadline beside its own time', () => {
    const { limits } = plan('meter');
    expect(limits.maxDurationMs).toBeGreaterThan(steadyMs);
    expect(limits.maxDurationMs).toBeLessThanOrEqual(steadyMs + 20_000);
  });
});
