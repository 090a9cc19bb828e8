/** Checks what a plan says about now and later. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  areaDm2Now,
  massGramsNow,
  planCurve,
  remainingMs,
  thicknessNow,
} from '../../daemon/run/forecast.ts';
import type { Plan } from '../../daemon/run/model.ts';
import { flat, hourMs, part, pieceOf, planned } from './plan-fixtures.ts';

const twig = pieceOf([
  part('wire', { wireDiameterMm: 0.8, lengthMm: 300 }),
  part('ball', { diameterMm: 10 }),
]);
const plan = planned({ request: { piece: twig } });

/** Stage and time in it, some time after the start. */
function placeAt({ stages }: Plan, elapsedMs: number): readonly [number, number] {
  let left = elapsedMs;
  for (const [index, stage] of stages.entries()) {
    if (left < stage.durationMs || stage.kind === 'hold') return [index, left];
    left -= stage.durationMs;
  }
  throw new Error('no hold');
}

/** Charge at 75 µm, half of the target, by bisection. */
function halfwayAmpHours(): number {
  let [low, high] = [0, plan.targetChargeAmpHours];
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (thicknessNow(plan, middle).value < 75) low = middle;
    else high = middle;
  }
  return low;
}

const leftAfter = (done: number) =>
  remainingMs(plan, done * plan.targetChargeAmpHours, 2, 3 * hourMs);

describe('the time left', () => {
  test('at the start is the whole duration', () => {
    expect(remainingMs(plan, 0, 0, 0)).toBeCloseTo(plan.durationMs, 3);
  });

  test('of a run that keeps to its plan shrinks as the clock goes', () => {
    const curve = planCurve(plan, 101);
    for (const [index, atMs] of curve.atMs.slice(0, -1).entries()) {
      const left = remainingMs(plan, curve.ampHours[index] ?? 0, ...placeAt(plan, atMs));
      expect(Math.abs(left - (plan.durationMs - atMs))).toBeLessThan(1);
    }
  });

  test('is longer for a run that lags behind, and never negative', () => {
    const share = fc.double({ min: 0, max: 1.5, noNaN: true });
    fc.assert(
      fc.property(share, share, (first, second) => {
        expect(leftAfter(Math.min(first, second))).toBeGreaterThanOrEqual(
          leftAfter(Math.max(first, second)),
        );
        expect(leftAfter(first)).toBeGreaterThanOrEqual(0);
      }),
    );
  });

  test('of a strike that is over but not yet left counts from its end', () => {
    const strikeMs = plan.stages[0]?.durationMs ?? 0;
    expect(remainingMs(plan, 0.01, 0, 10 * hourMs)).toBe(remainingMs(plan, 0.01, 0, strikeMs));
  });

  test('is nothing once the target is reached', () => {
    expect(remainingMs(plan, plan.targetChargeAmpHours, 2, 0)).toBe(0);
    expect(remainingMs(plan, 2 * plan.targetChargeAmpHours, 2, 0)).toBe(0);
  });

  test('of a hold that outlasts its estimate goes by the charge', () => {
    const left = remainingMs(plan, halfwayAmpHours(), 2, 100 * hourMs);
    const micrometresPerHour = 1.5 * 13.231 * 0.985;
    expect(left / hourMs).toBeCloseTo(75 / micrometresPerHour, 3);
  });

  test('in the trickle is the time until its end', () => {
    const trickle = { densityAmpsPerDm2: 0.1, maxHours: 6 };
    const trickling = planned({ request: { trickle } });
    const charge = trickling.targetChargeAmpHours;
    expect(remainingMs(trickling, charge, 3, 2 * hourMs)).toBe(4 * hourMs);
    expect(remainingMs(trickling, charge, 3, 9 * hourMs)).toBe(0);
  });
});

describe('the planned curve', () => {
  const curve = planCurve(plan, 2001);

  test('runs from the strike to the target', () => {
    expect(curve.atMs[0]).toBe(0);
    expect(curve.amps[0]).toBeCloseTo(plan.strikeAmps, 12);
    expect(curve.ampHours[0]).toBe(0);
    expect(curve.thicknessMicrometres[0]).toBe(0);
    expect(curve.atMs.at(-1)).toBeCloseTo(plan.durationMs, 6);
    expect(curve.amps.at(-1)).toBeCloseTo(plan.holdEndAmps, 9);
    expect(curve.ampHours.at(-1)).toBeCloseTo(plan.targetChargeAmpHours, 9);
    expect(curve.thicknessMicrometres.at(-1)).toBeCloseTo(150, 6);
  });

  test('has as much charge as the area under its current', () => {
    let charge = 0;
    for (const [index, atMs] of curve.atMs.entries()) {
      const beforeMs = curve.atMs[index - 1];
      if (beforeMs !== undefined) {
        const mean = ((curve.amps[index] ?? 0) + (curve.amps[index - 1] ?? 0)) / 2;
        charge += (mean * (atMs - beforeMs)) / hourMs;
      }
      expect(Math.abs(charge - (curve.ampHours[index] ?? 0))).toBeLessThan(1e-5);
    }
  });

  test('has the points asked for, and two at the least', () => {
    expect(planCurve(plan, 7).amps).toHaveLength(7);
    expect(planCurve(plan, 0).atMs).toEqual([0, plan.durationMs]);
  });
});

describe('the deposit now', () => {
  test('at the target is what the plan says', () => {
    const now = thicknessNow(plan, plan.targetChargeAmpHours);
    expect(now.value).toBeCloseTo(plan.thicknessMicrometres.value, 9);
    expect(now.low).toBeCloseTo(plan.thicknessMicrometres.low, 9);
    expect(now.high).toBeCloseTo(plan.thicknessMicrometres.high, 9);
    expect(massGramsNow(plan, plan.targetChargeAmpHours)).toBeCloseTo(plan.massGrams.value, 9);
    expect(areaDm2Now(plan, plan.targetChargeAmpHours) * 1.5).toBeCloseTo(plan.holdEndAmps, 9);
  });

  test('at the start is nothing on the first area', () => {
    expect(thicknessNow(plan, 0)).toEqual({ value: 0, low: 0, high: 0 });
    expect(massGramsNow(plan, 0)).toBe(0);
    expect(areaDm2Now(plan, 0)).toBeCloseTo(plan.areaDm2.value, 12);
  });

  test('widens by the bounds of an unmeasured stretch', () => {
    const sure = thicknessNow(plan, 1, 1, 1);
    const doubtful = thicknessNow(plan, 1, 0.9, 1.2);
    expect(doubtful.value).toBe(sure.value);
    expect(doubtful.low).toBeLessThan(sure.low);
    expect(doubtful.high).toBeGreaterThan(sure.high);
    expect(doubtful.low).toBeCloseTo(thicknessNow(plan, 0.9).low, 12);
    expect(doubtful.high).toBeCloseTo(thicknessNow(plan, 1.2).high, 12);
  });

  // 1.18549 g/A·h of copper: handbook tables of electrochemical equivalents print 1.186.
  test('weighs what Faraday says', () => {
    expect(massGramsNow(plan, 2)).toBeCloseTo(2 * 1.18549 * 0.985, 4);
  });

  test('goes on counting when an opening has closed', () => {
    const tube = part('tube', { outsideDiameterMm: 2, insideDiameterMm: 0.4, lengthMm: 20 });
    const closing = planned({ request: { piece: pieceOf([tube, flat(0.05)]) } });
    let before = 0;
    for (const ampHours of [0.1, 0.3, 1, 3, 10]) {
      const { value, high } = thicknessNow(closing, ampHours);
      expect(value).toBeGreaterThan(before);
      expect(high).toBeGreaterThan(value);
      expect(areaDm2Now(closing, ampHours)).toBeGreaterThan(0);
      before = value;
    }
    expect(before).toBeGreaterThan(200);
  });
});
