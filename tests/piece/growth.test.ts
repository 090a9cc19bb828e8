/** The growth polynomial and its inverse, for every kind of part and for mixtures of them. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  addGrowth,
  areaMm2At,
  growthLimit,
  scaleGrowth,
  thicknessMmAtVolume,
  volumeMm3At,
  zeroGrowth,
} from '../../daemon/piece/growth.ts';
import type { Growth } from '../../daemon/piece/model.ts';
import { pieceClosesAtMm, pieceGrowth, pieceProblems } from '../../daemon/piece/piece.ts';
import { anyPart, anyPiece, kinds, pieceOf } from './arbitraries.ts';

const upToThickness = fc.double({ min: 1e-6, max: 1, noNaN: true });
// Thickest deposit looked at where nothing closes, mm; a heavy one is 0.5.
const thickMm = 5;

function relativeGap(first: number, second: number): number {
  return Math.abs(first - second) / Math.abs(second);
}

/** Both round trips, thickness to volume to thickness and back again. */
function expectRoundTrip(growth: Growth, thicknessMm: number, closesAtMm: number | null): void {
  const volume = volumeMm3At(growth, thicknessMm);
  const back = thicknessMmAtVolume(growth, volume, closesAtMm);
  expect(relativeGap(back, thicknessMm)).toBeLessThan(1e-9);
  expect(relativeGap(volumeMm3At(growth, back), volume)).toBeLessThan(1e-9);
}

describe.each(kinds)('a %s', (kind) => {
  test('gives the same thickness back from its volume, up to closing', () => {
    fc.assert(
      fc.property(anyPart(kind), upToThickness, (part, share) => {
        const piece = pieceOf([part]);
        const closes = pieceClosesAtMm(piece)?.closesAtMm ?? null;
        const thickness = share * Math.min(thickMm, closes ?? thickMm);
        expectRoundTrip(pieceGrowth(piece), thickness, closes);
      }),
    );
  });

  test('grows its volume and never its area below nothing', () => {
    fc.assert(
      fc.property(anyPart(kind), upToThickness, upToThickness, (part, first, second) => {
        const piece = pieceOf([part]);
        const growth = pieceGrowth(piece);
        const reach = Math.min(thickMm, pieceClosesAtMm(piece)?.closesAtMm ?? thickMm);
        const thin = Math.min(first, second) * reach;
        const thick = Math.max(first, second) * reach;
        expect(volumeMm3At(growth, thick)).toBeGreaterThanOrEqual(volumeMm3At(growth, thin));
        expect(areaMm2At(growth, thin)).toBeGreaterThan(0);
      }),
    );
  });
});

test('a piece of many parts gives the same thickness back from its volume', () => {
  fc.assert(
    fc.property(anyPiece, upToThickness, (piece, share) => {
      const closes = pieceClosesAtMm(piece)?.closesAtMm ?? null;
      expectRoundTrip(pieceGrowth(piece), share * Math.min(thickMm, closes ?? thickMm), closes);
    }),
  );
});

test('a thicker volume is always a thicker deposit', () => {
  const anyShare = fc.double({ min: 0, max: 1, noNaN: true });
  fc.assert(
    fc.property(anyPiece, anyShare, anyShare, (piece, first, second) => {
      const growth = pieceGrowth(piece);
      const closes = pieceClosesAtMm(piece)?.closesAtMm ?? null;
      const most = volumeMm3At(growth, Math.min(thickMm, closes ?? thickMm));
      const [less, more] = first < second ? [first, second] : [second, first];
      expect(thicknessMmAtVolume(growth, less * most, closes)).toBeLessThanOrEqual(
        thicknessMmAtVolume(growth, more * most, closes),
      );
    }),
  );
});

test('the area is the slope of the volume', () => {
  fc.assert(
    fc.property(anyPiece, upToThickness, (piece, thickness) => {
      const growth = pieceGrowth(piece);
      const step = 1e-4;
      const [above, below] = [
        volumeMm3At(growth, thickness + step),
        volumeMm3At(growth, thickness - step),
      ];
      // The slope of a cubic between two points is its slope half way and K step^2, which outweighs
      // the area of a speck: 1.3 in a million for a ball of 0.1 mm.
      const slope = (above - below) / (2 * step) - growth.gaussThird * step ** 2;
      // What rounding can do to the difference of the two volumes.
      const rounding = (4 * Number.EPSILON * Math.max(Math.abs(above), Math.abs(below))) / step;
      const area = areaMm2At(growth, thickness);
      expect(Math.abs(slope - area)).toBeLessThanOrEqual(1e-10 * Math.abs(area) + rounding);
    }),
  );
});

test('a tube can be filled to the very edge of closing', () => {
  fc.assert(
    fc.property(anyPart('tube'), fc.constantFrom(1e-3, 1e-6, 1e-9, 0), (part, gap) => {
      const piece = pieceOf([part]);
      const closes = pieceClosesAtMm(piece)?.closesAtMm ?? Number.NaN;
      expectRoundTrip(pieceGrowth(piece), closes * (1 - gap), closes);
    }),
  );
});

test('no volume is no thickness', () => {
  expect(thicknessMmAtVolume({ areaMm2: 5, meanCurvatureMm: 2, gaussThird: 1 }, 0)).toBe(0);
});

test('a volume too small for a float to divide is no thickness, and is found at once', () => {
  const growth = { areaMm2: 1e6, meanCurvatureMm: 0, gaussThird: 0 };
  expect(thicknessMmAtVolume(growth, Number.MIN_VALUE)).toBe(0);
});

test('tiny and huge volumes are solved to the last digits', () => {
  const growth = { areaMm2: 100, meanCurvatureMm: 30, gaussThird: 4 };
  for (const volume of [1e-300, 1e-12, 1, 1e12, 1e300]) {
    const thickness = thicknessMmAtVolume(growth, volume);
    expect(relativeGap(volumeMm3At(growth, thickness), volume)).toBeLessThan(1e-14);
  }
});

describe('a surface that closes on itself', () => {
  // Inside of a ball of radius 5: its volume turns over at its centre, V = 4/3 pi (5^3 - (5 - t)^3).
  const hollow: Growth = {
    areaMm2: 100 * Math.PI,
    meanCurvatureMm: -20 * Math.PI,
    gaussThird: (4 * Math.PI) / 3,
  };
  const full = (4 / 3) * Math.PI * 125;
  // A bore of radius 2 and length 10, without ends: V = 10 pi (4 - (2 - t)^2).
  const bore: Growth = {
    areaMm2: 40 * Math.PI,
    meanCurvatureMm: -10 * Math.PI,
    gaussThird: 0,
  };

  test('ends where its area has shrunk to nothing', () => {
    expect(growthLimit(hollow)?.thicknessMm).toBeCloseTo(5, 6);
    expect(growthLimit(hollow)?.volumeMm3).toBeCloseTo(full, 6);
    expect(growthLimit(bore)?.thicknessMm).toBeCloseTo(2, 12);
    expect(growthLimit(bore)?.volumeMm3).toBeCloseTo(40 * Math.PI, 9);
  });

  test('ends earlier where a part closes earlier', () => {
    expect(growthLimit(bore, 1.5)).toEqual({
      thicknessMm: 1.5,
      volumeMm3: volumeMm3At(bore, 1.5),
    });
    expect(growthLimit(bore, 3)?.thicknessMm).toBeCloseTo(2, 12);
  });

  test('is solved on the near side of its turning point', () => {
    const anyShare = fc.double({ min: 1e-6, max: 0.999, noNaN: true });
    fc.assert(
      fc.property(anyShare, (share) => {
        expectRoundTrip(bore, 2 * share, null);
      }),
    );
    expect(thicknessMmAtVolume(hollow, (4 / 3) * Math.PI * (125 - 8))).toBeCloseTo(3, 9);
  });

  test('refuses more metal than fits, naming the volume and the bound', () => {
    expect(() => thicknessMmAtVolume(bore, 126)).toThrow(RangeError);
    expect(() => thicknessMmAtVolume(bore, 126)).toThrow(
      /volumeMm3 is 126; the piece closes at 2 mm, where it holds 125\.66/,
    );
    const convex = { areaMm2: 10, meanCurvatureMm: 1, gaussThird: 0 };
    expect(() => thicknessMmAtVolume(convex, 13, 1)).toThrow(
      'volumeMm3 is 13; the piece closes at 1 mm, where it holds 11 mm3',
    );
  });
});

test('a dented surface that never turns over is solved beyond its flat estimate', () => {
  const dented = { areaMm2: 10, meanCurvatureMm: -3, gaussThird: 1 };
  expect(growthLimit(dented)).toBeNull();
  for (const thickness of [0.1, 1, 3, 40]) {
    expectRoundTrip(dented, thickness, null);
  }
});

test('convex parts have no limit of their own', () => {
  expect(growthLimit({ areaMm2: 1, meanCurvatureMm: 1, gaussThird: 1 })).toBeNull();
  expect(growthLimit({ areaMm2: 1, meanCurvatureMm: 9, gaussThird: 0 })).toBeNull();
  expect(growthLimit({ areaMm2: 1, meanCurvatureMm: 0, gaussThird: 0 })).toBeNull();
});

test('impossible volumes and growths are refused by name', () => {
  const flat = { areaMm2: 10, meanCurvatureMm: 0, gaussThird: 0 };
  for (const bad of [-1, Number.NaN, Number.POSITIVE_INFINITY]) {
    expect(() => thicknessMmAtVolume(flat, bad)).toThrow(`volumeMm3 is ${bad}`);
    expect(() => thicknessMmAtVolume({ ...flat, meanCurvatureMm: bad * Number.NaN }, 1)).toThrow(
      'growth.meanCurvatureMm is NaN',
    );
  }
  expect(() => thicknessMmAtVolume(zeroGrowth, 1)).toThrow('growth.areaMm2 is 0');
});

test('growths add and scale term by term', () => {
  const one = { areaMm2: 1, meanCurvatureMm: 2, gaussThird: 3 };
  const sum = { areaMm2: 11, meanCurvatureMm: 22, gaussThird: 33 };
  expect(addGrowth(one, scaleGrowth(one, 10))).toEqual(sum);
  expect(addGrowth(one, zeroGrowth)).toEqual(one);
});

test('the arbitrary pieces of these tests are pieces the bench would accept', () => {
  fc.assert(
    fc.property(anyPiece, (piece) => {
      expect(pieceProblems(piece)).toEqual([]);
    }),
  );
});
