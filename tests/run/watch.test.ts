/** Each watch rule: what trips it, how soon, and what must not. */

import { describe, expect, it } from 'vitest';
import { faultWords } from '../../daemon/run/faults.ts';
import { faultCodes, type FaultCode, type RunReading } from '../../daemon/run/model.ts';
import { isFinal } from '../../daemon/run/state.ts';
import { watchRules } from '../../daemon/run/watch/watch.ts';
import { aPlan, Bench, limits } from './a-run.ts';

/** A run in its hold for a while, with a little noise in its readings as real ones have. */
function holding(plan = aPlan()): Bench {
  const bench = new Bench(plan).start();
  bench.tickUntil(() => bench.state.lifecycle === 'holding');
  for (let count = 0; count < 100; count += 1) bench.tick({ volts: 0.5 + (count % 7) * 1e-3 });
  return bench;
}

/** How long the condition stood before the run tripped, ms, and by which fault. */
function tripsAfter(bench: Bench, changes: Partial<RunReading>, mostMs = 120_000) {
  const fromMs = bench.nowMs;
  while (!isFinal(bench.state.lifecycle) && bench.nowMs - fromMs < mostMs) bench.tick(changes);
  return { code: bench.state.fault?.code ?? null, afterMs: bench.nowMs - fromMs };
}

const cases: readonly {
  readonly code: FaultCode;
  readonly why: string;
  readonly changes: Partial<RunReading>;
  readonly withinMs: number;
}[] = [
  { code: 'overCurrent', why: 'above the limit', changes: { amps: 1.501 }, withinMs: 250 },
  {
    code: 'overCurrent',
    why: 'above its set-point for a second',
    changes: { amps: 1.2 },
    withinMs: 1_500,
  },
  { code: 'overVoltage', why: 'above the limit', changes: { volts: 3.001 }, withinMs: 250 },
  {
    code: 'supplyRestarted',
    why: 'the supply says so',
    changes: { restarted: true },
    withinMs: 250,
  },
  {
    code: 'supplyTripped',
    why: 'the supply says so',
    changes: { supplyTrips: ['overCurrent'] },
    withinMs: 250,
  },
  { code: 'shortCircuit', why: 'no voltage at all', changes: { volts: 0.005 }, withinMs: 2_000 },
  {
    code: 'shortCircuit',
    why: 'a collapse of the resistance',
    changes: { volts: 0.1 },
    withinMs: 2_000,
  },
  {
    code: 'openCircuit',
    why: 'voltage at its cap, no current',
    changes: { volts: 2.5, amps: 0.001 },
    withinMs: 2_000,
  },
  {
    code: 'setPointChanged',
    why: 'current set at the panel',
    changes: { setAmps: 0.9 },
    withinMs: 500,
  },
  {
    code: 'setPointChanged',
    why: 'voltage set at the panel',
    changes: { setVolts: 2 },
    withinMs: 500,
  },
  {
    code: 'outputFoundOff',
    why: 'its key was pressed',
    changes: { outputOn: false },
    withinMs: 500,
  },
  {
    code: 'notFollowing',
    why: 'current stays below',
    changes: { amps: 0.7, volts: 2.5 },
    withinMs: 20_500,
  },
];

describe('a watch rule', () => {
  it.each(cases)('$code trips within $withinMs ms: $why', ({ code, changes, withinMs }) => {
    const bench = holding();
    const tripped = tripsAfter(bench, changes);
    expect(tripped.code).toBe(code);
    expect(tripped.afterMs).toBeLessThanOrEqual(withinMs);
    expect(bench.asked('switch-off')).toHaveLength(1);
    expect(bench.state.fault?.found).toMatch(/\.$/);
  });

  it('noCharge trips when a minute brings hardly any charge', () => {
    const bench = holding();
    // Too little for the count, too much for an open circuit, and the voltage is not at its cap.
    const tripped = tripsAfter(bench, { amps: 0.1, volts: 1 });
    expect(['noCharge', 'notFollowing']).toContain(tripped.code);
    const striking = new Bench().start();
    striking.tick();
    const early = tripsAfter(striking, { amps: 0.001, volts: 1 });
    expect(early.code).toBe('noCharge');
    expect(early.afterMs).toBeLessThanOrEqual(61_000);
  });

  it('openCircuit sees one along a quick ramp in single steps of a coarse supply', () => {
    const bench = new Bench(
      aPlan({
        growth: { areaMm2: 1_000, meanCurvatureMm: 0, gaussThird: 0 },
        stages: [
          { kind: 'strike', startAmpsPerDm2: 0.1, endAmpsPerDm2: 0.1, durationMs: 10_000 },
          { kind: 'ramp', startAmpsPerDm2: 0.1, endAmpsPerDm2: 0.4, durationMs: 30_000 },
          { kind: 'hold', startAmpsPerDm2: 0.4, endAmpsPerDm2: 0.4, durationMs: 3_600_000 },
        ],
      }),
    );
    bench.start().tickUntil(() => bench.state.lifecycle === 'ramping');
    for (let tick = 0; tick < 8; tick += 1) bench.tick();
    const openedAtMs = bench.nowMs;
    bench.tickUntil(() => bench.state.lifecycle === 'tripped', { amps: 0, volts: 2.5 });
    expect(bench.state.fault?.code).toBe('openCircuit');
    expect(bench.nowMs - openedAtMs).toBeLessThanOrEqual(4_000);
  });

  it.each([
    ['openCircuit', { amps: 0, volts: 2.5 }],
    ['shortCircuit', { volts: 0.004 }],
  ] as const)('%s is found while a ramp rises by large strides', (code, changes) => {
    const bench = new Bench(
      aPlan({
        stages: [
          { kind: 'strike', startAmpsPerDm2: 0.1, endAmpsPerDm2: 0.1, durationMs: 10_000 },
          { kind: 'ramp', startAmpsPerDm2: 0.1, endAmpsPerDm2: 1, durationMs: 20_000 },
          { kind: 'hold', startAmpsPerDm2: 1, endAmpsPerDm2: 1, durationMs: 3_600_000 },
        ],
      }),
    );
    bench.start().tickUntil(() => bench.state.lifecycle === 'ramping');
    for (let tick = 0; tick < 8; tick += 1) bench.tick();
    const tripped = tripsAfter(bench, changes);
    expect(tripped.code).toBe(code);
    expect(tripped.afterMs).toBeLessThanOrEqual(4_000);
  });

  it('a current on its way from one set-point to the next is no fault, up or down', () => {
    const steps = aPlan({
      stages: [
        { kind: 'strike', startAmpsPerDm2: 0.2, endAmpsPerDm2: 0.2, durationMs: 10_000 },
        { kind: 'ramp', startAmpsPerDm2: 0.2, endAmpsPerDm2: 1, durationMs: 12_000 },
        { kind: 'hold', startAmpsPerDm2: 1, endAmpsPerDm2: 1, durationMs: 20_000 },
        { kind: 'trickle', startAmpsPerDm2: 0.05, endAmpsPerDm2: 0.05, durationMs: 60_000 },
      ],
      targetChargeAmpHours: 0.006,
    });
    const bench = new Bench(steps).start();
    let before = 0;
    let noise = 0;
    const shown: number[] = [];
    while (!isFinal(bench.state.lifecycle)) {
      // A slow supply: every reading shows the set-point of a second ago.
      before = shown.at(-4) ?? bench.state.confirmedAmps;
      shown.push(bench.state.confirmedAmps);
      noise += 1;
      bench.tick({ amps: before, volts: 0.5 + (noise % 7) * 1e-3 });
    }
    expect(bench.state.outcome).toMatchObject({ end: 'reached' });
  });

  it('noCharge does not hold a minute of low current against a set-point that has just jumped', () => {
    const steep = aPlan({
      stages: [
        { kind: 'strike', startAmpsPerDm2: 0.02, endAmpsPerDm2: 0.02, durationMs: 52_000 },
        { kind: 'hold', startAmpsPerDm2: 1, endAmpsPerDm2: 1, durationMs: 3_600_000 },
      ],
    });
    const bench = new Bench(steep).start();
    for (let count = 0; count < 1_200; count += 1) bench.tick({ volts: 0.5 + (count % 7) * 1e-3 });
    expect(bench.state.fault).toBeNull();
    expect(bench.state.lifecycle).toBe('holding');
  });

  it('overCurrent does not trip on a set-point that is in effect though its reply was lost', () => {
    const steep = aPlan({
      stages: [
        { kind: 'strike', startAmpsPerDm2: 0.2, endAmpsPerDm2: 0.2, durationMs: 10_000 },
        { kind: 'hold', startAmpsPerDm2: 1, endAmpsPerDm2: 1, durationMs: 3_600_000 },
      ],
    });
    const bench = new Bench(steep).start();
    while (bench.state.lifecycle === 'striking') {
      bench.nowMs += 250;
      const reading = bench.reading();
      bench.feed({ kind: 'reading', atMs: bench.nowMs, reading });
    }
    expect(bench.state).toMatchObject({ commandedAmps: 1, confirmedAmps: 0.2, programming: true });
    let again = 0;
    for (let count = 0; count < 20 && again === 0; count += 1) {
      bench.nowMs += 250;
      const reading = bench.reading({ amps: 1, volts: 0.5 + count * 1e-3 });
      const asked = bench.feed({ kind: 'reading', atMs: bench.nowMs, reading });
      again += asked.filter((effect) => effect.kind === 'program').length;
    }
    expect({ again, fault: bench.state.fault }).toEqual({ again: 1, fault: null });
    bench.programmed();
    bench.tick();
    expect(bench.state.fault).toBeNull();
    // What neither set-point explains still trips.
    expect(tripsAfter(bench, { amps: 1.2 }).code).toBe('overCurrent');
  });

  it('stuckReading trips when the set-point moves and not one digit follows', () => {
    const bench = new Bench().start();
    bench.tickUntil(() => bench.state.lifecycle === 'ramping');
    const stuck = { volts: 0.4321, amps: bench.state.confirmedAmps };
    const tripped = tripsAfter(bench, stuck, 60_000);
    expect(tripped.code).toBe('stuckReading');
    expect(tripped.afterMs).toBeLessThan(30_000);
  });

  it('tooLong and tooMuchCharge end a run that its target does not end', () => {
    const never = { targetChargeAmpHours: 100 };
    const long = new Bench(
      aPlan({ ...never, limits: { ...limits, maxDurationMs: 600_000, maxChargeAmpHours: 99 } }),
    );
    long.start().tickUntil(() => isFinal(long.state.lifecycle));
    expect(long.state.fault?.code).toBe('tooLong');
    expect(long.state.poweredMs).toBeLessThanOrEqual(600_250);
    const much = new Bench(aPlan({ ...never, limits: { ...limits, maxChargeAmpHours: 0.1 } }));
    much.start().tickUntil(() => isFinal(much.state.lifecycle));
    expect(much.state.fault?.code).toBe('tooMuchCharge');
    expect(much.state.charge.highAmpHours).toBeLessThan(0.1 + 1 / 3600);
  });

  it('tooMuchCharge is not fed by what the run before had left in doubt', () => {
    const carried = { ampHours: 0.4, lowAmpHours: 0.4, highAmpHours: 1 };
    const bench = new Bench(aPlan(), carried).start();
    bench.tickUntil(() => isFinal(bench.state.lifecycle));
    expect(bench.state.outcome).toMatchObject({ end: 'reached' });
    // The doubt itself is kept and shown.
    expect(bench.state.charge.highAmpHours).toBeGreaterThan(1.59);
  });

  it('paintNotCovering ends a strike whose current never comes up', () => {
    const bench = new Bench().start();
    bench.tickUntil(() => isFinal(bench.state.lifecycle), { amps: 0.05, volts: 2.4 });
    expect(bench.state.fault?.code).toBe('paintNotCovering');
  });

  it.each([
    ['one odd current', { amps: 1.3 }],
    ['one low current', { amps: 0.2 }],
    ['one low voltage', { volts: 0.01 }],
    ['one wrong set-point', { setAmps: 0.5 }],
    ['one wrong output state', { outputOn: false }],
  ] as const)('is not tripped by %s in every four readings', (_name, odd) => {
    const bench = holding();
    for (let count = 0; count < 400; count += 1) {
      bench.tick(count % 4 === 0 ? odd : { volts: 0.5 + (count % 5) * 1e-3 });
    }
    expect(bench.state.fault).toBeNull();
    expect(bench.state.lifecycle).toBe('holding');
  });

  it('bears a strike at some 20 mV, read by a meter with steps of 10 mV', () => {
    const bench = new Bench().start();
    for (let tick = 0; tick < 400; tick += 1) bench.tick({ volts: tick % 3 === 0 ? 0.02 : 0.03 });
    expect(bench.state.fault).toBeNull();
    const shorted = tripsAfter(bench, { volts: 0 });
    expect(shorted).toMatchObject({ code: 'shortCircuit' });
    expect(shorted.afterMs).toBeLessThanOrEqual(2_000);
  });

  it('bears falling voltage while paint covers, and a strike at the voltage cap', () => {
    const bench = new Bench().start();
    let count = 0;
    bench.tickUntil(() => {
      count += 1;
      return bench.state.lifecycle === 'holding' || isFinal(bench.state.lifecycle);
    }, {});
    expect(count).toBeGreaterThan(1_000);
    const covering = new Bench().start();
    for (let tick = 0; tick < 470; tick += 1) {
      const volts = 2.5 - 2 * Math.min(1, tick / 400);
      covering.tick({ volts, amps: covering.state.confirmedAmps * Math.min(1, 0.3 + tick / 400) });
    }
    expect(covering.state.fault).toBeNull();
  });
});

describe('the words of a fault', () => {
  it('say for every code what it means and what to do', () => {
    expect(Object.keys(faultWords).toSorted()).toEqual([...faultCodes].toSorted());
    for (const words of Object.values(faultWords)) {
      expect(words.title).not.toMatch(/[.!]$/);
      expect(words.cause).toMatch(/\.$/);
      expect(words.remedy).toMatch(/\.$/);
    }
  });

  it('cover every rule', () => {
    for (const rule of watchRules) expect(faultCodes).toContain(rule.code);
    expect(new Set(watchRules.map((rule) => rule.code)).size).toBe(watchRules.length);
  });
});
