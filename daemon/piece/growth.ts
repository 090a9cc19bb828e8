/** The growth polynomial of a piece: metal volume against thickness, and back. */

import type { Growth } from './model.ts';

/** A piece without surface: the start of a sum. */
export const zeroGrowth: Growth = { areaMm2: 0, meanCurvatureMm: 0, gaussThird: 0 };

/** Growth of two surfaces side by side. */
export function addGrowth(first: Growth, second: Growth): Growth {
  return {
    areaMm2: first.areaMm2 + second.areaMm2,
    meanCurvatureMm: first.meanCurvatureMm + second.meanCurvatureMm,
    gaussThird: first.gaussThird + second.gaussThird,
  };
}

/** Growth of `factor` surfaces alike, or of that share of one. */
export function scaleGrowth(growth: Growth, factor: number): Growth {
  return {
    areaMm2: growth.areaMm2 * factor,
    meanCurvatureMm: growth.meanCurvatureMm * factor,
    gaussThird: growth.gaussThird * factor,
  };
}

/** Volume of metal, mm3, once it is `thicknessMm` thick everywhere. */
export function volumeMm3At(growth: Growth, thicknessMm: number): number {
  const { areaMm2, meanCurvatureMm, gaussThird } = growth;
  return thicknessMm * (areaMm2 + thicknessMm * (meanCurvatureMm + thicknessMm * gaussThird));
}

/** Area, mm2, of the surface of the metal at that thickness: the slope of the volume. */
export function areaMm2At(growth: Growth, thicknessMm: number): number {
  const { areaMm2, meanCurvatureMm, gaussThird } = growth;
  return areaMm2 + thicknessMm * (2 * meanCurvatureMm + thicknessMm * 3 * gaussThird);
}

/** Smallest thickness above 0 at which the area has shrunk to nothing, mm; null if it never does. */
function turningThicknessMm({ areaMm2, meanCurvatureMm, gaussThird }: Growth): number | null {
  const discriminant = meanCurvatureMm ** 2 - 3 * gaussThird * areaMm2;
  if (discriminant < 0) {
    return null;
  }
  // The root pair q / (3 K) and A / q: this form loses no digits when K is small or zero.
  const root = Math.sqrt(discriminant);
  const q = meanCurvatureMm < 0 ? root - meanCurvatureMm : -root - meanCurvatureMm;
  const candidates = [q / (3 * gaussThird), areaMm2 / q];
  const ahead = candidates.filter((candidate) => Number.isFinite(candidate) && candidate > 0);
  return ahead.length === 0 ? null : Math.min(...ahead);
}

/** The largest thickness a growth can have, and the volume of metal it then holds. */
export interface GrowthLimit {
  readonly thicknessMm: number;
  readonly volumeMm3: number;
}

/**
 * Where a growth ends: at the thickness that closes a bore, if given, or where its area has shrunk
 * to nothing. Null where nothing ends it. Ask it before `thicknessMmAtVolume` to avoid its error.
 */
export function growthLimit(growth: Growth, closesAtMm: number | null = null): GrowthLimit | null {
  const ends = [closesAtMm, turningThicknessMm(growth)].filter((end) => end !== null);
  if (ends.length === 0) {
    return null;
  }
  const thicknessMm = Math.min(...ends);
  return { thicknessMm, volumeMm3: volumeMm3At(growth, thicknessMm) };
}

function requireFinite(field: string, value: number): void {
  if (!Number.isFinite(value)) {
    throw new RangeError(`growth.${field} is ${value}; it must be a finite number`);
  }
}

function requireGrowth({ areaMm2, meanCurvatureMm, gaussThird }: Growth): void {
  if (!Number.isFinite(areaMm2) || areaMm2 <= 0) {
    throw new RangeError(`growth.areaMm2 is ${areaMm2}; it must be a finite number above 0`);
  }
  requireFinite('meanCurvatureMm', meanCurvatureMm);
  requireFinite('gaussThird', gaussThird);
}

/** A thickness that is certainly too thick for the volume. */
function upperThicknessMm(growth: Growth, volumeMm3: number, limit: GrowthLimit | null): number {
  // A volume near the smallest float divides to nothing, which no doubling would ever raise.
  let upper = Math.max(volumeMm3 / growth.areaMm2, Number.MIN_VALUE);
  while (volumeMm3At(growth, upper) < volumeMm3) {
    upper *= 2;
    if (limit !== null && upper >= limit.thicknessMm) {
      return limit.thicknessMm;
    }
  }
  return limit === null ? upper : Math.min(upper, limit.thicknessMm);
}

/** Newton's method kept inside a bracket: it halves the bracket whenever a step would leave it. */
function solveThicknessMm(growth: Growth, volumeMm3: number, upperMm: number): number {
  let low = 0;
  let high = upperMm;
  let thickness = Math.min(volumeMm3 / growth.areaMm2, high);
  // Halving alone reaches the last bit of a float within about 1,100 steps; Newton takes a few.
  for (let step = 0; step < 1_200; step += 1) {
    const excess = volumeMm3At(growth, thickness) - volumeMm3;
    if (excess > 0) {
      high = thickness;
    } else {
      low = thickness;
    }
    let next = thickness - excess / areaMm2At(growth, thickness);
    if (!(next >= low && next <= high)) {
      next = low + (high - low) / 2;
    }
    if (Math.abs(next - thickness) <= 2 * Number.EPSILON * thickness) {
      return next;
    }
    thickness = next;
  }
  return thickness;
}

// A volume computed at the very limit may exceed it by rounding alone.
const limitSlack = 1e-12;

/**
 * Thickness, mm, at which the metal has a volume of `volumeMm3`: the inverse of `volumeMm3At`.
 * `closesAtMm` is the thickness at which a bore closes, mm, or null. Throws RangeError on a negative
 * or non-finite volume, on a growth without area, and on a volume beyond `growthLimit`.
 */
export function thicknessMmAtVolume(
  growth: Growth,
  volumeMm3: number,
  closesAtMm: number | null = null,
): number {
  requireGrowth(growth);
  if (!Number.isFinite(volumeMm3) || volumeMm3 < 0) {
    throw new RangeError(`volumeMm3 is ${volumeMm3}; it must be a finite number, 0 or more`);
  }
  const limit = growthLimit(growth, closesAtMm);
  if (limit !== null && volumeMm3 > limit.volumeMm3 * (1 + limitSlack)) {
    throw new RangeError(
      `volumeMm3 is ${volumeMm3}; the piece closes at ${limit.thicknessMm} mm, ` +
        `where it holds ${limit.volumeMm3} mm3`,
    );
  }
  if (volumeMm3 === 0) {
    return 0;
  }
  return solveThicknessMm(growth, volumeMm3, upperThicknessMm(growth, volumeMm3, limit));
}

/** Side of a straight round wire, its ends left out: 2 pi r L, pi L, 0 (the offset of a cylinder). */
export function wireSideGrowth(wireDiameterMm: number, lengthMm: number): Growth {
  return {
    areaMm2: Math.PI * wireDiameterMm * lengthMm,
    meanCurvatureMm: Math.PI * lengthMm,
    gaussThird: 0,
  };
}

/**
 * A sheet with a half-round rim of radius s, half its thickness, round a mid-face of area F and
 * perimeter P whose normal turns by T in all, 2 pi where it has no notches: 2 F + pi P s + 2 T s^2,
 * pi P / 2 + 2 T s, 2 T / 3. It is the offset of the flat mid-face by s, so its own growth is that
 * of the face from s on; as s vanishes it becomes 2 F, pi P / 2, 4 pi / 3 (Steiner).
 */
export function rimmedGrowth(
  faceMm2: number,
  perimeterMm: number,
  thicknessMm: number,
  turning = 2 * Math.PI,
): Growth {
  const rimRadius = thicknessMm / 2;
  return {
    areaMm2: 2 * faceMm2 + Math.PI * perimeterMm * rimRadius + 2 * turning * rimRadius ** 2,
    meanCurvatureMm: (Math.PI * perimeterMm) / 2 + 2 * turning * rimRadius,
    gaussThird: (2 * turning) / 3,
  };
}

/** A length of round wire bent along any line of that length, with flat ends that count. */
export function wireWithEndsGrowth(wireDiameterMm: number, lengthMm: number): Growth {
  const radius = wireDiameterMm / 2;
  return addGrowth(wireSideGrowth(wireDiameterMm, lengthMm), {
    areaMm2: 2 * Math.PI * radius ** 2,
    meanCurvatureMm: Math.PI ** 2 * radius,
    gaussThird: (4 * Math.PI) / 3,
  });
}
