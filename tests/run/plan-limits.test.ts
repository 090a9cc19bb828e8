/** Checks that the limits of a run fit its plan, its tank and its supply. */

import { TankLimits } from '../../daemon/sentinel/own-limits.ts';
import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { plannableAmps } from '../../daemon/run/limits.ts';
import { planCurve } from '../../daemon/run/forecast.ts';
import type { Target } from '../../daemon/run/model.ts';
import { planRun } from '../../daemon/run/plan.ts';
import {
  beaker,
  flat,
  hourMs,
  part,
  pieceOf,
  planned,
  stillCopper,
  twigRequest,
} from './plan-fixtures.ts';

describe('the limits of a run', () => {
  test('leave a quarter above the largest current, rounded up to the supply', () => {
    const { limits, holdEndAmps } = planned({ supply: { stepAmps: 0.01 } });
    expect(holdEndAmps).toBeCloseTo(0.45, 12);
    expect(limits.maxAmps).toBe(0.57);
  });

  test('leave at least five steps above a small current', () => {
    const request = { piece: pieceOf([flat(0.03)]) };
    const { limits } = planned({ request, supply: { stepAmps: 0.01 } });
    expect(limits.maxAmps).toBe(0.1);
  });

  test('never pass what the tank allows', () => {
    const request = { piece: pieceOf([flat(1.9)]) };
    const { limits, startable } = planned({ request, tank: { maxAmps: 3, volumeLitres: 20 } });
    expect(startable).toBe(true);
    expect(limits.maxAmps).toBe(3);
  });

  test('hold the voltage well above the expected band and below the tank', () => {
    const { limits, expectedVolts } = planned();
    expect(limits.setVolts).toBeGreaterThanOrEqual(1.5);
    expect(limits.setVolts).toBeGreaterThanOrEqual(2 * expectedVolts.high - 1e-9);
    expect(limits.maxVolts).toBeGreaterThan(limits.setVolts);
    expect(limits.maxVolts).toBeLessThanOrEqual(beaker.maxVolts);
  });

  test('keep the cap a little below the tank even where it is tight', () => {
    const { limits } = planned({ tank: { maxVolts: 1 } });
    expect(limits.setVolts).toBeLessThan(1);
    expect(limits.maxVolts).toBe(1);
  });

  test('give protections only to a supply that can hold them', () => {
    const both = planned().limits;
    expect(both.overVoltageVolts).toBe(both.maxVolts);
    expect(both.overCurrentAmps).toBe(both.maxAmps);
    const none = planned({ supply: { overVoltageLevel: false, overCurrentLevel: false } }).limits;
    expect(none.overVoltageVolts).toBeNull();
    expect(none.overCurrentAmps).toBeNull();
  });

  test('allow a quarter and half an hour more time, and a twentieth more charge', () => {
    const { limits, durationMs, targetChargeAmpHours } = planned();
    expect(limits.maxDurationMs).toBeCloseTo(1.25 * durationMs + 0.5 * hourMs, 6);
    expect(limits.maxChargeAmpHours).toBeGreaterThan(1.05 * targetChargeAmpHours);
    expect(limits.maxChargeAmpHours).toBeLessThan(1.06 * targetChargeAmpHours);
    expect(limits.maxSilenceMs).toBe(2000);
  });

  test('never allow more time than the tank', () => {
    const { limits, durationMs } = planned({ tank: { maxHours: 10 } });
    expect(durationMs).toBeLessThan(10 * hourMs);
    expect(limits.maxDurationMs).toBe(10 * hourMs);
  });

  test('leave room for the trickle to run to its end', () => {
    const trickle = { densityAmpsPerDm2: 0.2, maxHours: 10 };
    const [without, withIt] = [planned().limits, planned({ request: { trickle } }).limits];
    expect(withIt.maxDurationMs - without.maxDurationMs).toBeCloseTo(10 * hourMs, 6);
    expect(withIt.maxChargeAmpHours - without.maxChargeAmpHours).toBeCloseTo(0.3 * 0.2 * 10, 9);
  });
});

const scenes = fc.record({
  areaDm2: fc.double({ min: 0.005, max: 4, noNaN: true }),
  wireMm: fc.double({ min: 0.3, max: 3, noNaN: true }),
  densityAmpsPerDm2: fc.double({ min: 0.06, max: 3, noNaN: true }),
  hours: fc.double({ min: 0.1, max: 40, noNaN: true }),
  maxAmps: fc.double({ min: 0.1, max: 10, noNaN: true }),
  supplyAmps: fc.double({ min: 0.1, max: 10, noNaN: true }),
  maxVolts: fc.double({ min: 0.3, max: 30, noNaN: true }),
  stepAmps: fc.constantFrom(0.0001, 0.001, 0.01),
  trickleHours: fc.option(fc.double({ min: 0.1, max: 20, noNaN: true })),
});

function planOf(scene: typeof scenes extends fc.Arbitrary<infer Scene> ? Scene : never) {
  const { trickleHours } = scene;
  const target: Target = { kind: 'time', hours: scene.hours };
  return planned({
    request: {
      piece: pieceOf([
        flat(scene.areaDm2),
        part('wire', { wireDiameterMm: scene.wireMm, lengthMm: 60 }),
      ]),
      densityAmpsPerDm2: scene.densityAmpsPerDm2,
      target,
      trickle: trickleHours === null ? null : { densityAmpsPerDm2: 0.1, maxHours: trickleHours },
    },
    tank: { maxAmps: scene.maxAmps, maxVolts: scene.maxVolts },
    supply: { maxAmps: scene.supplyAmps, stepAmps: scene.stepAmps },
  });
}

describe('in every plan', () => {
  test('a startable one never exceeds tank or supply, at any moment', () => {
    fc.assert(
      fc.property(scenes, (scene) => {
        const plan = planOf(scene);
        const largest = Math.max(...planCurve(plan, 200).amps);
        fc.pre(plan.startable);
        expect(largest).toBeLessThanOrEqual(plannableAmps(plan.tank) * (1 + 1e-9));
        expect(largest).toBeLessThan(Math.min(scene.maxAmps, scene.supplyAmps));
        expect(plan.durationMs).toBeLessThanOrEqual(plan.tank.maxHours * hourMs);
      }),
      { numRuns: 150 },
    );
  });

  test('the limits are at least what a startable plan needs', () => {
    fc.assert(
      fc.property(scenes, (scene) => {
        const plan = planOf(scene);
        fc.pre(plan.startable);
        const { limits } = plan;
        const trickleMs = (scene.trickleHours ?? 0) * hourMs;
        expect(limits.maxAmps).toBeGreaterThan(Math.max(...planCurve(plan, 200).amps));
        expect(limits.maxDurationMs).toBeGreaterThanOrEqual(plan.durationMs + trickleMs);
        expect(limits.maxChargeAmpHours).toBeGreaterThan(plan.targetChargeAmpHours);
        expect(limits.setVolts).toBeGreaterThan(plan.expectedVolts.low);
      }),
      { numRuns: 150 },
    );
  });

  test('the limits stay inside tank and supply, startable or not', () => {
    fc.assert(
      fc.property(scenes, (scene) => {
        const { limits, tank } = planOf(scene);
        expect(limits.maxAmps).toBeLessThanOrEqual(Math.min(scene.maxAmps, scene.supplyAmps));
        expect(limits.maxVolts).toBeLessThanOrEqual(Math.min(tank.maxVolts, tank.supply.maxVolts));
        expect(limits.setVolts).toBeLessThan(limits.maxVolts);
        expect(limits.setVolts).toBeGreaterThan(0);
        expect(limits.maxDurationMs).toBeLessThanOrEqual(tank.maxHours * hourMs);
      }),
      { numRuns: 150 },
    );
  });
});

describe('a plan that carries a run on', () => {
  const tank = { ...beaker, maxHours: 8 };
  const goal = { ...twigRequest, target: { kind: 'thickness', micrometres: 200 } } as const;
  const planWith = (carriedAmpHours: number) => {
    const result = planRun(goal, stillCopper, tank, { carriedAmpHours });
    if (!result.ok) throw new Error(result.problems[0]?.message);
    return result.plan;
  };

  test('is too long by what is left of it, not by the whole', () => {
    const whole = planWith(0);
    expect(whole.startable).toBe(false);
    expect(whole.notices.map(({ code }) => code)).toContain('tooLong');
    // On flat metal thickness goes with the charge: half of it leaves half of the hold.
    const half = planWith(whole.targetChargeAmpHours / 2);
    expect(half.notices.map(({ code }) => code)).not.toContain('tooLong');
    expect(half.startable).toBe(true);
    expect(half.targetChargeAmpHours).toBe(whole.targetChargeAmpHours);
    expect(half.durationMs).toBe(whole.durationMs);
  });

  test('may overshoot what is left of it, not what is there already', () => {
    const whole = planWith(0);
    const carried = 0.9 * whole.targetChargeAmpHours;
    const { limits, targetChargeAmpHours } = planWith(carried);
    const small = limits.maxAmps / 60;
    expect(limits.maxChargeAmpHours - carried).toBeCloseTo(
      1.05 * (targetChargeAmpHours - carried) + small,
      9,
    );
  });

  test.each([0, 50, 100, 150])(
    'is admitted by the sentinel with %s A·h carried and a whole night left',
    (carriedAmpHours) => {
      // 94 % of 14 h at the largest current that a plan may take of 3 A.
      const left = 0.94 * 14 * 2.9;
      const target = { kind: 'charge', ampHours: carriedAmpHours + left } as const;
      const sheet = { kind: 'measured', label: 'sheet', count: 1, platedFraction: 1 } as const;
      const result = planRun(
        {
          ...twigRequest,
          piece: {
            name: 'sheet',
            parts: [{ ...sheet, sizes: { areaMm2: 29_000 } }],
            areaUncertainty: 0,
          },
          densityAmpsPerDm2: 1,
          target,
        },
        stillCopper,
        { ...beaker, maxAmps: 3, maxVolts: 6, maxHours: 14 },
        { carriedAmpHours },
      );
      if (!result.ok) throw new Error(result.problems[0]?.message);
      const { maxAmps, maxVolts, maxDurationMs, maxChargeAmpHours } = result.plan.limits;
      const hard = { maxAmps: 3, maxVolts: 6, maxHours: 14 };
      expect(() =>
        new TankLimits('one', hard).admit({
          runId: 'run-1',
          maxAmps,
          maxVolts,
          maxDurationMs,
          maxChargeAmpHours: maxChargeAmpHours - carriedAmpHours,
        }),
      ).not.toThrow();
    },
  );

  test('says what is left where that is too long as well', () => {
    const little = planWith(planWith(0).targetChargeAmpHours / 20);
    const words = little.notices.find(({ code }) => code === 'tooLong')?.message ?? '';
    expect(words).toContain('What is left of the run takes');
  });
});
