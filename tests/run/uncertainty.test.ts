/** Checks how doubt about area, efficiency, meter and metal becomes a range. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { scaleGrowth, thicknessMmAtVolume, volumeMm3At } from '../../daemon/piece/growth.ts';
import {
  massSpread,
  metalDensityShare,
  thicknessSpread,
  uncertaintyTerms,
} from '../../daemon/run/uncertainty.ts';
import { idealCopper, part, pieceOf, planned, stillCopper } from './plan-fixtures.ts';

const sources = { areaShare: 0.15, bath: stillCopper, meterShare: 0.01 };

describe('the terms of doubt', () => {
  // Area plus or minus 10 to 25 % on leafy shapes dominates; ammeter 1 to 3 %, efficiency 2 %,
  // density of the metal 0.5 %: common practice, no source.
  test('are named with the largest first', () => {
    expect(uncertaintyTerms(sources).map((term) => term.name)).toEqual([
      'area',
      'efficiency',
      'meter',
      'metalDensity',
    ]);
  });

  test('put the meter first where the area is known well', () => {
    const terms = uncertaintyTerms({ areaShare: 0.001, bath: idealCopper, meterShare: 0.03 });
    expect(terms[0]?.name).toBe('meter');
  });

  test('never let more than all of the charge become metal', () => {
    const bath = { ...stillCopper, efficiency: { value: 0.99, uncertainty: 0.05, source: '' } };
    const term = uncertaintyTerms({ ...sources, bath }).find(({ name }) => name === 'efficiency');
    expect(0.99 * (1 + (term?.up ?? 0))).toBeCloseTo(1, 12);
    expect(term?.down).toBeCloseTo(0.05 / 0.99, 12);
  });
});

describe('the spread of the thickness', () => {
  test('is the root of the sum of squares, worked by hand', () => {
    // Down: 0.15/1.15, 0.015/0.985, 0.01, 0.005/1.005; up: 0.15/0.85, 1/0.985 - 1, 0.01, 0.005/0.995.
    const down = Math.hypot(0.130_434_783, 0.015_228_426, 0.01, 0.004_975_124);
    const up = Math.hypot(0.176_470_588, 0.015_228_426, 0.01, 0.005_025_126);
    expect(thicknessSpread(sources).low).toBeCloseTo(1 - down, 8);
    expect(thicknessSpread(sources).high).toBeCloseTo(1 + up, 8);
  });

  test('of a well known piece is nearly even and nearly the plain quadrature', () => {
    const spread = thicknessSpread({ areaShare: 0.01, bath: idealCopper, meterShare: 0.01 });
    const plain = Math.sqrt(0.01 ** 2 + 0.01 ** 2 + metalDensityShare ** 2);
    expect(1 - spread.low).toBeCloseTo(plain, 3);
    expect(spread.high - 1).toBeCloseTo(plain, 3);
  });

  test('is wider the less is known, and holds the value', () => {
    const share = fc.double({ min: 0, max: 0.9, noNaN: true });
    fc.assert(
      fc.property(share, share, (first, second) => {
        const [less, more] = [Math.min(first, second), Math.max(first, second)];
        const narrow = thicknessSpread({ ...sources, areaShare: less });
        const wide = thicknessSpread({ ...sources, areaShare: more });
        expect(wide.low).toBeLessThanOrEqual(narrow.low);
        expect(wide.high).toBeGreaterThanOrEqual(narrow.high);
        expect(narrow.low).toBeLessThan(1);
        expect(narrow.high).toBeGreaterThan(1);
      }),
    );
  });
});

test('the spread of the mass does not care for the area', () => {
  expect(massSpread(sources)).toEqual(massSpread({ ...sources, areaShare: 0.5 }));
  expect(1 - massSpread(sources).low).toBeCloseTo(Math.hypot(0.015_228_426, 0.01), 8);
});

test('a piece whose area is out by its whole share still ends inside the range of the plan', () => {
  const share = 0.2;
  const parts = [
    part('wire', { wireDiameterMm: 0.8, lengthMm: 400 }),
    part('ball', { diameterMm: 12 }),
  ];
  const plan = planned({ request: { piece: pieceOf(parts, share) } });
  const { value, low, high } = plan.thicknessMicrometres;
  const volume = volumeMm3At(plan.growth, value / 1000);
  const smaller = 1000 * thicknessMmAtVolume(scaleGrowth(plan.growth, 1 - share), volume);
  const larger = 1000 * thicknessMmAtVolume(scaleGrowth(plan.growth, 1 + share), volume);
  expect(larger).toBeGreaterThan(low);
  expect(smaller).toBeLessThan(high);
  // The area makes nearly all of it here, so the range is not much wider than that.
  expect(larger / low).toBeLessThan(1.01);
  expect(high / smaller).toBeLessThan(1.01);
});
