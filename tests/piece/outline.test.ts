/** Traced outlines: area, perimeter and growth by hand, and every outline that cannot be. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  crossingSides,
  perimeterMm,
  signedAreaMm2,
  weighedTurning,
} from '../../daemon/piece/geometry/polygon.ts';
import { turningWeight } from '../../daemon/piece/geometry/turning.ts';
import type { Outline, Point } from '../../daemon/piece/model.ts';
import { pieceProblems } from '../../daemon/piece/piece.ts';
import { pieceSchema } from '../../daemon/wire/piece.ts';
import { anyShape, definitionOf, partOf, pieceOf } from './arbitraries.ts';

const { PI } = Math;

const at = (xMm: number, yMm: number): Point => ({ xMm, yMm });
const square = [at(0, 0), at(30, 0), at(30, 20), at(0, 20)];
// A letter L: a square of 20 with a quarter of it cut away.
const corner = [at(0, 0), at(20, 0), at(20, 10), at(10, 10), at(10, 20), at(0, 20)];

const sizes = { thicknessMm: 0.5, faces: 2 };

function growthOf(points: readonly Point[], change: Readonly<Record<string, number>> = {}) {
  return definitionOf('outline').growth({ sizes: { ...sizes, ...change }, outline: { points } });
}

describe('a polygon', () => {
  test('has the area and perimeter of its squares', () => {
    expect(signedAreaMm2(square)).toBe(600);
    expect(signedAreaMm2(square.toReversed())).toBe(-600);
    expect(perimeterMm(square)).toBe(100);
    expect(signedAreaMm2(corner)).toBe(300);
    expect(perimeterMm(corner)).toBe(80);
  });

  test('keeps its area far away from the origin', () => {
    const far = square.map(({ xMm, yMm }) => at(xMm + 1e9, yMm - 1e9));
    expect(signedAreaMm2(far)).toBe(600);
  });

  test('has an area of Pick: whole points inside and half of those on its edge, less one', () => {
    // Pick (1899); points of a lattice of 1 mm. An 8 by 6 right triangle: 17 inside, 16 on its edge.
    expect(signedAreaMm2([at(0, 0), at(8, 0), at(0, 6)])).toBe(17 + 16 / 2 - 1);
  });

  test('turns once in all, less what its inner corners take', () => {
    expect(weighedTurning(square)).toBeCloseTo(2 * PI, 12);
    expect(weighedTurning(square.toReversed())).toBeCloseTo(2 * PI, 12);
    // Five outer right angles and one inner one of 2 tan 45 degrees.
    expect(weighedTurning(corner)).toBeCloseTo((5 * PI) / 2 - 2, 12);
  });

  test('counts a slit as an inner corner of 150 degrees', () => {
    expect(turningWeight(-PI / 2)).toBeCloseTo(-2, 12);
    expect(turningWeight(-3.1)).toBe(turningWeight((-150 * PI) / 180));
    expect(turningWeight(1)).toBe(1);
  });
});

describe('a traced outline', () => {
  test('is a sheet where it is a rectangle', () => {
    const sheet = definitionOf('sheet').growth({
      sizes: { lengthMm: 30, widthMm: 20, thicknessMm: 0.5 },
    });
    const traced = growthOf(square);
    // The sheet's corners are square, the trace stands for a smooth edge: they differ by s^2 terms.
    expect(Math.abs(traced.areaMm2 / sheet.areaMm2 - 1)).toBeLessThan(5e-4);
    expect(Math.abs(traced.meanCurvatureMm / sheet.meanCurvatureMm - 1)).toBeLessThan(5e-3);
    expect(traced.gaussThird).toBeCloseTo(sheet.gaussThird, 12);
  });

  test('is a disc where it is round', () => {
    const round = Array.from({ length: 720 }, (_, index) =>
      at(10 * Math.cos((index * PI) / 360), 10 * Math.sin((index * PI) / 360)),
    );
    const disc = definitionOf('disc').growth({
      sizes: { diameterMm: 20, thicknessMm: 0.5, holeDiameterMm: 0 },
    });
    const traced = growthOf(round);
    expect(Math.abs(traced.areaMm2 / disc.areaMm2 - 1)).toBeLessThan(3e-5);
    expect(Math.abs(traced.meanCurvatureMm / disc.meanCurvatureMm - 1)).toBeLessThan(3e-5);
  });

  test('with one face counts half', () => {
    const [both, one] = [growthOf(corner), growthOf(corner, { faces: 1 })];
    expect(one.areaMm2).toBeCloseTo(both.areaMm2 / 2, 12);
    expect(one.meanCurvatureMm).toBeCloseTo(both.meanCurvatureMm / 2, 12);
  });

  test('does not care which way round, from where or where on the picture it was traced', () => {
    fc.assert(
      fc.property(anyShape('outline'), fc.nat(), (shape, start) => {
        const points = shape.outline?.points ?? [];
        const first = start % points.length;
        const moved = [...points.slice(first), ...points.slice(0, first)]
          .toReversed()
          .map(({ xMm, yMm }) => at(7 - yMm, xMm + 3));
        const [before, after] = [points, moved].map((traced) =>
          definitionOf('outline').growth({ ...shape, outline: { points: traced } }),
        );
        for (const term of ['areaMm2', 'meanCurvatureMm', 'gaussThird'] as const) {
          expect(after?.[term]).toBeCloseTo(before?.[term] ?? Number.NaN, 6);
        }
      }),
    );
  });
});

function problemOf(outline: Outline | undefined, change: Readonly<Record<string, number>> = {}) {
  const part = partOf('outline', { ...sizes, ...change }, outline ? { outline } : {});
  const [first, ...others] = pieceProblems(pieceOf([part]));
  expect(others).toEqual([]);
  return first;
}

describe('an outline that cannot be', () => {
  test('is missing', () => {
    expect(problemOf(undefined)).toMatchObject({ field: 'parts[0].outline', value: 'missing' });
    const shape = { sizes };
    expect(() => definitionOf('outline').growth(shape)).toThrow('outline is missing');
  });

  test.each([0, 1, 2])('has %i points', (count) => {
    expect(problemOf({ points: square.slice(0, count) })).toMatchObject({
      field: 'parts[0].outline.points',
      value: `${count} points`,
      bound: '3 to 2000 points',
    });
  });

  test('has more points than are looked at', () => {
    const points = Array.from({ length: 2_001 }, (_, index) => at(index, index % 7));
    expect(problemOf({ points })).toMatchObject({ value: '2001 points' });
  });

  test('has the same point twice running, at its end too', () => {
    expect(
      problemOf({ points: [...square.slice(0, 2), at(30, 0), ...square.slice(2)] }),
    ).toMatchObject({
      field: 'parts[0].outline.points[2]',
      value: '(30, 0)',
      bound: 'different from the point before it, points[1]',
    });
    expect(problemOf({ points: [...square, at(0, 0)] })).toMatchObject({
      field: 'parts[0].outline.points[0]',
      bound: 'different from the point before it, points[4]',
    });
  });

  test.each([Number.NaN, Number.POSITIVE_INFINITY])('has a point at %f', (bad) => {
    expect(problemOf({ points: [at(0, 0), at(bad, 0), at(3, 3)] })).toMatchObject({
      field: 'parts[0].outline.points[1]',
      value: `(${bad}, 0)`,
      bound: 'two finite numbers, in mm',
    });
  });

  test('crosses itself like a bow', () => {
    expect(problemOf({ points: [at(0, 0), at(20, 20), at(20, 0), at(0, 10)] })).toMatchObject({
      field: 'parts[0].outline.points',
      value: 'crossed by itself: the line from points[0] meets that from points[2]',
      bound: 'a line that never meets itself',
    });
  });

  test('touches itself in a point, or doubles back on its own line', () => {
    const pinched = [at(0, 0), at(10, 0), at(5, 5), at(10, 10), at(0, 10), at(5, 5.0)];
    expect(problemOf({ points: pinched })?.value).toMatch(/^crossed by itself/);
    const spur = [at(0, 0), at(20, 0), at(20, 10), at(20, -5), at(10, -8)];
    expect(problemOf({ points: spur })?.value).toMatch(/^crossed by itself/);
  });

  test('encloses nothing', () => {
    expect(problemOf({ points: [at(0, 0), at(10, 10), at(20, 20)] })).toMatchObject({
      field: 'parts[0].outline.points',
      value: '0 mm2',
      bound: 'the line round an area above 0 mm2',
    });
  });

  test('crosses itself where its halves cancel out, which is no line', () => {
    const bowTie = [at(0, 0), at(10, 10), at(10, 0), at(0, 10)];
    expect(problemOf({ points: bowTie })?.value).toMatch(/^crossed by itself/);
  });

  test('is too small or too large for its scale', () => {
    const scaled = (factor: number) => square.map(({ xMm, yMm }) => at(xMm * factor, yMm * factor));
    expect(problemOf({ points: scaled(0.001) })?.value).toBe('0.03000 mm wide');
    expect(problemOf({ points: scaled(1_000) })?.bound).toBe('from 0.1 to 10000 mm at its widest');
  });

  test('is narrower than its sheet is thick', () => {
    const thin = [at(0, 0), at(40, 0), at(40, 1), at(0, 1)];
    expect(problemOf({ points: thin }, { thicknessMm: 1.2 })).toMatchObject({
      field: 'parts[0].sizes.thicknessMm',
      value: '1.2',
    });
    expect(problemOf({ points: thin }, { thicknessMm: 0.2 })).toBeUndefined();
  });
});

test('no star crosses itself, and any star with two corners exchanged does', () => {
  fc.assert(
    fc.property(anyShape('outline'), fc.nat(), ({ outline }, start) => {
      const points = outline?.points ?? [];
      expect(crossingSides(points)).toBeNull();
      const first = start % points.length;
      const second = (first + Math.floor(points.length / 2)) % points.length;
      const swapped = points
        .with(first, points[second] ?? at(0, 0))
        .with(second, points[first] ?? at(0, 0));
      expect(crossingSides(swapped)).not.toBeNull();
    }),
  );
});

test('a careful trace of two thousand points is found to be simple', () => {
  const points = Array.from({ length: 2_000 }, (_, index) =>
    at(50 * Math.cos((index * PI) / 1_000), 50 * Math.sin((index * PI) / 1_000)),
  );
  expect(crossingSides(points)).toBeNull();
});

test('an outline crosses the wire with its picture, scale and clicks', () => {
  const outline: Outline = {
    points: square,
    pictureId: 'leaf-1',
    scale: { first: { x: 10, y: 20 }, second: { x: 310, y: 20 }, lengthMm: 30 },
    picturePoints: [{ x: 1, y: 2 }],
  };
  const piece = pieceOf([partOf('outline', sizes, { outline, coveredMm2: 3 })]);
  expect(pieceSchema.parse(JSON.parse(JSON.stringify(piece)))).toEqual(piece);
  const odd = { ...piece, parts: [{ ...piece.parts[0], outline: { ...outline, colour: 'red' } }] };
  expect(pieceSchema.safeParse(odd).success).toBe(false);
});

/** Which way three points turn: 0 where they are on one line. */
const turn = (a: number[], b: number[], c: number[]): number =>
  Math.sign((b[0]! - a[0]!) * (c[1]! - a[1]!) - (b[1]! - a[1]!) * (c[0]! - a[0]!));

/** What touches without crossing is a matter of taste, and of the last digit. */
function threeOnOneLine(points: readonly { xMm: number; yMm: number }[]): boolean {
  const all = points.map(({ xMm, yMm }) => [xMm, yMm]);
  return all.some((a, one) =>
    all.some(
      (b, two) => two > one && all.some((c, three) => three > two && Math.abs(turn(a, b, c)) === 0),
    ),
  );
}

/** Every pair of sides by the textbook's orientation test, however long that takes. */
function crossesByBruteForce(points: readonly { xMm: number; yMm: number }[]): boolean {
  const at = (index: number): number[] => {
    const point = points[index % points.length]!;
    return [point.xMm, point.yMm];
  };
  for (let one = 0; one < points.length; one += 1) {
    for (let other = one + 2; other < points.length; other += 1) {
      if (one === 0 && other === points.length - 1) continue;
      const [a, b, c, d] = [at(one), at(one + 1), at(other), at(other + 1)];
      const proper = turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
      if (proper) return true;
    }
  }
  return false;
}

test('the sweep finds a crossing exactly where looking at every pair of sides does', () => {
  // Coordinates with odd thirds: three points on one line are rare then, and left out.
  const coordinate = fc
    .integer({ min: 0, max: 1_000_000 })
    .map((value) => value / 3 + value ** 2 / 7e9);
  const point = fc.record({ xMm: coordinate, yMm: coordinate });
  let crossed = 0;
  fc.assert(
    fc.property(fc.array(point, { minLength: 4, maxLength: 9 }), (points) => {
      fc.pre(!threeOnOneLine(points));
      const brute = crossesByBruteForce(points);
      crossed += brute ? 1 : 0;
      expect(crossingSides(points) !== null).toBe(brute);
    }),
    { numRuns: 500 },
  );
  expect(crossed).toBeGreaterThan(50);
});
