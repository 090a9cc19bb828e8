/** Elliptic integrals, ellipses and ellipsoids against closed forms and published values. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  carlsonG,
  ellipsePerimeterMm,
  ellipsoidGrowth,
} from '../../daemon/piece/geometry/elliptic.ts';

const { PI } = Math;

describe('R_G', () => {
  // Carlson, Numerical computation of real or complex elliptic integrals (1995), section 3; the same
  // values stand in the consistency checks of NIST DLMF 19.36.
  test('has the values that Carlson printed', () => {
    expect(carlsonG(0, 16, 16)).toBeCloseTo(PI, 13);
    expect(carlsonG(2, 3, 4)).toBeCloseTo(1.7255030280692, 12);
    expect(carlsonG(0, 0.0796, 4)).toBeCloseTo(1.028475809028804, 12);
  });

  test('is symmetric and grows as the root of its arguments', () => {
    const any = fc.double({ min: 0.01, max: 1_000, noNaN: true });
    fc.assert(
      fc.property(any, any, any, any, (x, y, z, s) => {
        const value = carlsonG(x, y, z);
        expect(Math.abs(carlsonG(z, x, y) / value - 1)).toBeLessThan(1e-13);
        expect(Math.abs(carlsonG(s * x, s * y, s * z) / value / Math.sqrt(s) - 1)).toBeLessThan(
          1e-13,
        );
      }),
    );
  });

  test('refuses arguments it cannot converge on', () => {
    expect(() => carlsonG(-1, 2, 3)).toThrow(RangeError);
  });
});

/** Perimeter by the arithmetic-geometric mean, another exact method (DLMF 19.8.6). */
function perimeterByMeans(first: number, second: number): number {
  let [a, b, c] = [first, second, Math.sqrt(Math.abs(first ** 2 - second ** 2))];
  let [sum, power] = [c ** 2 / 2, 0.5];
  for (let step = 0; step < 40; step += 1) {
    [a, b, c] = [(a + b) / 2, Math.sqrt(a * b), (a - b) / 2];
    power *= 2;
    sum += power * c ** 2;
  }
  return ((2 * PI) / a) * (Math.max(first, second) ** 2 - sum);
}

describe('an ellipse', () => {
  test('is a circle where its axes are equal and two lines where one is nothing', () => {
    expect(ellipsePerimeterMm(3, 3)).toBeCloseTo(6 * PI, 12);
    expect(ellipsePerimeterMm(5, 1e-9)).toBeCloseTo(20, 9);
  });

  test('of any axes has the perimeter found by the arithmetic-geometric mean', () => {
    const any = fc.double({ min: 0.1, max: 100, noNaN: true });
    fc.assert(
      fc.property(any, any, (a, b) => {
        const wanted = perimeterByMeans(a, b);
        expect(Math.abs(ellipsePerimeterMm(a, b) / wanted - 1)).toBeLessThan(1e-11);
      }),
    );
  });

  test('of a slim shape is where the usual approximation is not', () => {
    // Ramanujan's second formula; at 20 : 1 it is some 0.02 % short.
    const h = (19 / 21) ** 2;
    const approximate = PI * 21 * (1 + (3 * h) / (10 + Math.sqrt(4 - 3 * h)));
    expect(Math.abs(ellipsePerimeterMm(20, 1) / approximate - 1)).toBeGreaterThan(1e-5);
    expect(Math.abs(ellipsePerimeterMm(20, 1) / approximate - 1)).toBeLessThan(1e-3);
  });
});

describe('an ellipsoid', () => {
  // Areas by 4 pi R_G of DLMF 19.33.1, worked out apart from this tool to seven digits.
  test.each([
    [3, 2, 1, 48.88215],
    [3, 1, 1, 30.89372],
    [5, 1, 1, 50.19251],
    [2, 2, 1, 34.68753],
  ])('of half axes %d, %d, %d has an area of %f', (a, b, c, area) => {
    expect(Math.abs(ellipsoidGrowth(a, b, c).areaMm2 - area)).toBeLessThanOrEqual(0.5e-5);
  });

  test('of revolution has the closed areas of the handbooks', () => {
    // Prolate and oblate spheroid; CRC Standard Mathematical Tables, mensuration, from memory.
    const prolate = (a: number, c: number) => {
      const e = Math.sqrt(1 - (a / c) ** 2);
      return 2 * PI * a ** 2 * (1 + ((c / a) * Math.asin(e)) / e);
    };
    const oblate = (a: number, c: number) => {
      const e = Math.sqrt(1 - (c / a) ** 2);
      return 2 * PI * a ** 2 + (PI * c ** 2 * Math.log((1 + e) / (1 - e))) / e;
    };
    expect(ellipsoidGrowth(2, 2, 7).areaMm2).toBeCloseTo(prolate(2, 7), 9);
    expect(ellipsoidGrowth(6, 6, 1.5).areaMm2).toBeCloseTo(oblate(6, 1.5), 9);
  });

  test('that is a ball grows like a ball, and one without thickness like a disc', () => {
    const ball = ellipsoidGrowth(4, 4, 4);
    expect(ball.areaMm2).toBeCloseTo(64 * PI, 10);
    expect(ball.meanCurvatureMm).toBeCloseTo(16 * PI, 10);
    // A disc of radius r: area of both faces, and pi^2 r (Steiner).
    const disc = ellipsoidGrowth(4, 4, 1e-7);
    expect(disc.areaMm2).toBeCloseTo(32 * PI, 5);
    expect(disc.meanCurvatureMm).toBeCloseTo(4 * PI ** 2, 5);
  });

  test('has the mean curvature of a prolate spheroid', () => {
    // Its mean width is c + a^2 arccosh(c / a) / sqrt(c^2 - a^2) by integrating its support function.
    const [a, c] = [2, 5];
    const root = Math.sqrt(c ** 2 - a ** 2);
    const width = c + (a ** 2 / root) * Math.acosh(c / a);
    expect(ellipsoidGrowth(a, a, c).meanCurvatureMm).toBeCloseTo(2 * PI * width, 10);
  });
});
