/** Checks the stages of a run and the charge per area that they bring. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { metalById } from '../../daemon/chemistry/metals.ts';
import {
  chargePerAreaAt,
  densityAtElapsed,
  millimetresPerAmpHourPerDm2,
  timeMsAtChargePerArea,
} from '../../daemon/run/charge-density.ts';
import type { Paint, Stage } from '../../daemon/run/model.ts';
import {
  chooseStages,
  densityAmpsPerDm2At,
  gentleStarts,
  stageSequence,
  wantedAmps,
} from '../../daemon/run/stages.ts';
import { hourMs, stillCopper, twigRequest } from './plan-fixtures.ts';

const minuteMs = 60_000;
const ramp: Stage = {
  kind: 'ramp',
  startAmpsPerDm2: 0.3,
  endAmpsPerDm2: 1.5,
  durationMs: 20 * minuteMs,
};

const kinds = (stages: readonly Stage[]) => stages.map((stage) => stage.kind);
const rampAt = (minutes: number) => densityAmpsPerDm2At(ramp, minutes * minuteMs);

describe('the choice of stages', () => {
  test('the thinner the contact, the gentler and the longer the start', () => {
    const order: readonly Paint[] = ['none', 'silver', 'copper', 'graphite'];
    const starts = order.map((paint) => gentleStarts[paint]);
    for (const [index, start] of starts.slice(1).entries()) {
      const before = starts[index];
      expect(start.strikeShare).toBeLessThan(before?.strikeShare ?? 0);
      expect(start.strikeMs).toBeGreaterThan(before?.strikeMs ?? Infinity);
      expect(start.rampMs).toBeGreaterThan(before?.rampMs ?? Infinity);
    }
  });

  // 10 to 25 % of the final current until covered, 15 min to 3 h: common practice, no source.
  test.each(['silver', 'copper', 'graphite'] as const)(
    '%s paint is struck as is usual',
    (paint) => {
      const { strikeShare, strikeMs, source } = gentleStarts[paint];
      expect(strikeShare).toBeGreaterThanOrEqual(0.1);
      expect(strikeShare).toBeLessThanOrEqual(0.25);
      expect(strikeMs).toBeGreaterThanOrEqual(15 * minuteMs);
      expect(strikeMs).toBeLessThanOrEqual(3 * hourMs);
      expect(source).toBe('common practice, no source');
    },
  );

  test('strike, ramp and hold join without a jump', () => {
    const [strike, rise, hold] = chooseStages(twigRequest, stillCopper, 7 * hourMs);
    expect(rise?.startAmpsPerDm2).toBe(strike?.endAmpsPerDm2);
    expect(rise?.endAmpsPerDm2).toBe(hold?.startAmpsPerDm2);
    expect(hold?.startAmpsPerDm2).toBe(twigRequest.densityAmpsPerDm2);
    expect(hold?.durationMs).toBe(7 * hourMs);
  });

  test('a bold hold does not make a bold strike', () => {
    const typical = stillCopper.window.typicalAmpsPerDm2;
    const bold = { ...twigRequest, densityAmpsPerDm2: 3 * typical };
    const [strike] = chooseStages(bold, stillCopper, 0);
    expect(strike?.startAmpsPerDm2).toBeCloseTo(0.2 * typical, 12);
  });

  test('a gentle hold makes an even gentler strike', () => {
    const [strike] = chooseStages({ ...twigRequest, densityAmpsPerDm2: 0.6 }, stillCopper, 0);
    expect(strike?.startAmpsPerDm2).toBeCloseTo(0.12, 12);
  });

  test('a trickle comes last and only where it was asked for', () => {
    const trickle = { densityAmpsPerDm2: 0.1, maxHours: 5 };
    expect(kinds(chooseStages(twigRequest, stillCopper, 1))).toEqual(stageSequence.slice(0, 3));
    const withTrickle = chooseStages({ ...twigRequest, trickle }, stillCopper, 1);
    expect(kinds(withTrickle)).toEqual(stageSequence);
    expect(withTrickle[3]).toEqual({
      kind: 'trickle',
      startAmpsPerDm2: 0.1,
      endAmpsPerDm2: 0.1,
      durationMs: 5 * hourMs,
    });
  });

  test('a target before the hold leaves a hold of no length', () => {
    expect(chooseStages(twigRequest, stillCopper, -minuteMs)[2]?.durationMs).toBe(0);
  });
});

describe('the density in a stage', () => {
  test('runs in a straight line and is clamped at both ends', () => {
    expect(rampAt(-1)).toBe(0.3);
    expect(rampAt(0)).toBe(0.3);
    expect(rampAt(5)).toBeCloseTo(0.6, 12);
    expect(rampAt(10)).toBeCloseTo(0.9, 12);
    expect(rampAt(20)).toBe(1.5);
    expect(rampAt(1000)).toBe(1.5);
  });

  test('of a stage without length is its end density', () => {
    expect(densityAmpsPerDm2At({ ...ramp, durationMs: 0 }, 0)).toBe(1.5);
  });

  test('times the area is the current: 1.5 A/dm2 on 0.30 dm2 is 0.45 A', () => {
    expect(wantedAmps(1.5, 3000)).toBeCloseTo(0.45, 12);
  });
});

describe('charge per area along the stages', () => {
  const stages = chooseStages(twigRequest, stillCopper, 0);

  test('of strike and ramp is their mean density times their time', () => {
    const strikeDensity = 0.2 * stillCopper.window.typicalAmpsPerDm2;
    const strike = strikeDensity * 0.5;
    const rise = ((strikeDensity + 1.5) / 2) * (20 / 60);
    expect(chargePerAreaAt(stages, 30 * minuteMs)).toBeCloseTo(strike, 12);
    expect(chargePerAreaAt(stages, 50 * minuteMs)).toBeCloseTo(strike + rise, 12);
    expect(chargePerAreaAt(stages, 110 * minuteMs)).toBeCloseTo(strike + rise + 1.5, 12);
  });

  test('is inverted exactly, within strike, ramp and hold', () => {
    fc.assert(
      fc.property(fc.double({ min: 1, max: 30 * hourMs, noNaN: true }), (elapsedMs) => {
        const back = timeMsAtChargePerArea(stages, chargePerAreaAt(stages, elapsedMs));
        expect(Math.abs(back / elapsedMs - 1)).toBeLessThan(1e-9);
      }),
    );
  });

  test('is inverted on a ramp that falls, too', () => {
    const falling = [{ ...ramp, startAmpsPerDm2: 1.5, endAmpsPerDm2: 0.3 }];
    const half = chargePerAreaAt(falling, 10 * minuteMs);
    expect(timeMsAtChargePerArea(falling, half)).toBeCloseTo(10 * minuteMs, 3);
  });

  test('grows at the density of the moment', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 10 * 3600 }), (seconds) => {
        const [before, after] = [(seconds - 0.5) * 1000, (seconds + 0.5) * 1000];
        const slope = (chargePerAreaAt(stages, after) - chargePerAreaAt(stages, before)) * 3600;
        expect(slope).toBeCloseTo(densityAtElapsed(stages, seconds * 1000), 2);
      }),
    );
  });

  // Formula of the deposit: 13.231 µm/h of copper at 1 A/dm2 and full efficiency, at 8.96 g/cm3;
  // recomputed from CODATA's F and CIAAW's atomic weight.
  test('one A·h/dm2 of copper is 13.23 µm', () => {
    const millimetres = millimetresPerAmpHourPerDm2(metalById('copper-II'), 1);
    expect(millimetres * 1000).toBeCloseTo(13.231, 3);
  });
});
