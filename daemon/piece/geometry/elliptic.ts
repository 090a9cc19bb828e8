/** Perimeter of an ellipse and growth of an ellipsoid, exactly, by Carlson's symmetric integrals. */

import type { Growth } from '../model.ts';

// Duplication divides the error by 4 to the sixth at every step, so few steps reach the last digit.
const maxSteps = 60;
const tolerance = 1e-4;

/** R_F(x, y, z): at most one of the arguments may be 0. Source: NIST DLMF 19.36 (i). */
function carlsonF(x: number, y: number, z: number): number {
  let [a, b, c] = [x, y, z];
  for (let step = 0; step < maxSteps; step += 1) {
    const mean = (a + b + c) / 3;
    const [p, q, r] = [1 - a / mean, 1 - b / mean, 1 - c / mean];
    if (Math.max(Math.abs(p), Math.abs(q), Math.abs(r)) < tolerance) {
      const second = p * q - r * r;
      const third = p * q * r;
      return (
        (1 - second / 10 + third / 14 + second ** 2 / 24 - (3 * second * third) / 44) /
        Math.sqrt(mean)
      );
    }
    const shift = Math.sqrt(a * b) + Math.sqrt(b * c) + Math.sqrt(c * a);
    [a, b, c] = [(a + shift) / 4, (b + shift) / 4, (c + shift) / 4];
  }
  throw new RangeError(`R_F(${x}, ${y}, ${z}) does not converge; arguments must be 0 or more`);
}

/** R_D(x, y, z) with z above 0 and at most one of x, y 0. Source: NIST DLMF 19.36 (i). */
function carlsonD(x: number, y: number, z: number): number {
  let [a, b, c] = [x, y, z];
  let sum = 0;
  let factor = 1;
  for (let step = 0; step < maxSteps; step += 1) {
    const mean = (a + b + 3 * c) / 5;
    const [p, q, r] = [1 - a / mean, 1 - b / mean, 1 - c / mean];
    if (Math.max(Math.abs(p), Math.abs(q), Math.abs(r)) < tolerance) {
      // The elementary symmetric functions of (p, q, r, r, r), whose sum is 0.
      const pq = p * q;
      const rr = r * r;
      const second = pq - 6 * rr;
      const third = (3 * pq - 8 * rr) * r;
      const fourth = 3 * (pq - rr) * rr;
      const fifth = pq * rr * r;
      const series =
        1 -
        (3 * second) / 14 +
        third / 6 +
        (9 * second ** 2) / 88 -
        (3 * fourth) / 22 -
        (9 * second * third) / 52 +
        (3 * fifth) / 26;
      return 3 * sum + (factor * series) / (mean * Math.sqrt(mean));
    }
    const shift = Math.sqrt(a * b) + Math.sqrt(b * c) + Math.sqrt(c * a);
    sum += factor / (Math.sqrt(c) * (c + shift));
    factor /= 4;
    [a, b, c] = [(a + shift) / 4, (b + shift) / 4, (c + shift) / 4];
  }
  throw new RangeError(`R_D(${x}, ${y}, ${z}) does not converge; arguments must be 0 or more`);
}

/**
 * R_G(x, y, z), symmetric, arguments 0 or more and at most one of them 0. Source: NIST DLMF 19.21.10;
 * the middle argument goes last, which keeps its terms from cancelling.
 */
export function carlsonG(x: number, y: number, z: number): number {
  const [low = 0, middle = 0, high = 0] = [x, y, z].toSorted((first, second) => first - second);
  return (
    (middle * carlsonF(high, low, middle) -
      ((high - middle) * (low - middle) * carlsonD(high, low, middle)) / 3 +
      Math.sqrt((high * low) / middle)) /
    2
  );
}

/** Perimeter, mm, of an ellipse by its half axes, mm: 8 R_G(0, a^2, b^2). Source: DLMF 19.30.5. */
export function ellipsePerimeterMm(halfLengthMm: number, halfWidthMm: number): number {
  return 8 * carlsonG(0, halfLengthMm ** 2, halfWidthMm ** 2);
}

/**
 * Growth of an ellipsoid by its half axes a, b, c: 4 pi R_G(a^2 b^2, a^2 c^2, b^2 c^2),
 * 4 pi R_G(a^2, b^2, c^2), 4 pi / 3. Sources: area, DLMF 19.33.1. The second term is 2 pi times the
 * mean width, twice the mean over all directions of sqrt(a^2 x^2 + b^2 y^2 + c^2 z^2), which is
 * R_G by DLMF 19.16.3.
 */
export function ellipsoidGrowth(aMm: number, bMm: number, cMm: number): Growth {
  const [a, b, c] = [aMm ** 2, bMm ** 2, cMm ** 2];
  return {
    areaMm2: 4 * Math.PI * carlsonG(a * b, a * c, b * c),
    meanCurvatureMm: 4 * Math.PI * carlsonG(a, b, c),
    gaussThird: (4 * Math.PI) / 3,
  };
}
