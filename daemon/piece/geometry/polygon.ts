/** Measures closed polygons and finds what makes one impossible. */

import type { Point } from '../model.ts';
import { turningWeight } from './turning.ts';

/** Area by the shoelace formula, mm2: above 0 where the points run clockwise on a screen. */
export function signedAreaMm2(points: readonly Point[]): number {
  let twice = 0;
  // Counted from the first point, so that a small shape far from the origin keeps its digits.
  const [origin = { xMm: 0, yMm: 0 }] = points;
  for (const [index, here] of points.entries()) {
    const next = points[(index + 1) % points.length] ?? here;
    twice +=
      (here.xMm - origin.xMm) * (next.yMm - origin.yMm) -
      (next.xMm - origin.xMm) * (here.yMm - origin.yMm);
  }
  return twice / 2;
}

/** Length of the closed line, mm. */
export function perimeterMm(points: readonly Point[]): number {
  let sum = 0;
  for (const [index, here] of points.entries()) {
    const next = points[(index + 1) % points.length] ?? here;
    sum += Math.hypot(next.xMm - here.xMm, next.yMm - here.yMm);
  }
  return sum;
}

/**
 * How far its outward normal turns in all, in radians, inner corners weighed as in `turningWeight`:
 * 2 pi for a convex polygon, less for one with notches.
 */
export function weighedTurning(points: readonly Point[]): number {
  const sense = Math.sign(signedAreaMm2(points));
  const count = points.length;
  let sum = 0;
  for (const [index, here] of points.entries()) {
    const before = points[(index + count - 1) % count] ?? here;
    const after = points[(index + 1) % count] ?? here;
    const [inX, inY] = [here.xMm - before.xMm, here.yMm - before.yMm];
    const [outX, outY] = [after.xMm - here.xMm, after.yMm - here.yMm];
    sum += turningWeight(sense * Math.atan2(inX * outY - inY * outX, inX * outX + inY * outY));
  }
  return sum;
}

/** Width and height of the upright rectangle round the points, mm. */
export function extentMm(points: readonly Point[]): {
  readonly widthMm: number;
  readonly heightMm: number;
} {
  let [left, top] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  let [right, bottom] = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const { xMm, yMm } of points) {
    left = Math.min(left, xMm);
    right = Math.max(right, xMm);
    top = Math.min(top, yMm);
    bottom = Math.max(bottom, yMm);
  }
  return { widthMm: right - left, heightMm: bottom - top };
}

/** On which side of the line from a to b the point lies: the sign of twice the triangle's area. */
function side(a: Point, b: Point, { xMm, yMm }: Point): number {
  return Math.sign((b.xMm - a.xMm) * (yMm - a.yMm) - (b.yMm - a.yMm) * (xMm - a.xMm));
}

/** Whether a point on the line through a and b lies between them. */
function between(a: Point, b: Point, { xMm, yMm }: Point): boolean {
  return (
    xMm >= Math.min(a.xMm, b.xMm) &&
    xMm <= Math.max(a.xMm, b.xMm) &&
    yMm >= Math.min(a.yMm, b.yMm) &&
    yMm <= Math.max(a.yMm, b.yMm)
  );
}

function meet(a: Point, b: Point, c: Point, d: Point): boolean {
  const [sideC, sideD] = [side(a, b, c), side(a, b, d)];
  const [sideA, sideB] = [side(c, d, a), side(c, d, b)];
  if (sideC * sideD < 0 && sideA * sideB < 0) {
    return true;
  }
  return (
    (sideC === 0 && between(a, b, c)) ||
    (sideD === 0 && between(a, b, d)) ||
    (sideA === 0 && between(c, d, a)) ||
    (sideB === 0 && between(c, d, b))
  );
}

/** Whether the line from `here` doubles back over the one that leads to it. */
function doublesBack(before: Point, here: Point, after: Point): boolean {
  const [inX, inY] = [here.xMm - before.xMm, here.yMm - before.yMm];
  const [outX, outY] = [after.xMm - here.xMm, after.yMm - here.yMm];
  return side(before, here, after) === 0 && inX * outX + inY * outY < 0;
}

/** A side with the box round it; `index` is that of the point it starts at. */
interface Side {
  readonly index: number;
  readonly from: Point;
  readonly to: Point;
  readonly right: number;
  readonly left: number;
  readonly low: number;
  readonly high: number;
}

function sidesOf(points: readonly Point[]): readonly Side[] {
  return points.map((from, index) => {
    const to = points[(index + 1) % points.length] ?? from;
    return {
      index,
      from,
      to,
      left: Math.min(from.xMm, to.xMm),
      right: Math.max(from.xMm, to.xMm),
      low: Math.min(from.yMm, to.yMm),
      high: Math.max(from.yMm, to.yMm),
    };
  });
}

type Crossing = readonly [first: number, second: number];

function earlier(one: Crossing | null, other: Crossing): Crossing {
  if (one === null || other[0] < one[0]) return other;
  return other[0] === one[0] && other[1] < one[1] ? other : one;
}

function meeting(one: Side, other: Side, count: number): Crossing | null {
  const first = Math.min(one.index, other.index);
  const second = Math.max(one.index, other.index);
  // Neighbours share a point and cannot meet elsewhere unless one doubles back.
  if (second - first === 1 || second - first === count - 1) return null;
  if (one.low > other.high || other.low > one.high) return null;
  return meet(one.from, one.to, other.from, other.to) ? [first, second] : null;
}

/**
 * The first two sides that cross or touch, each by the index of the point it starts at; null for a
 * simple polygon. Swept from left to right, so that only sides side by side are compared.
 */
export function crossingSides(points: readonly Point[]): Crossing | null {
  const count = points.length;
  const at = (index: number): Point => points[index % count] ?? { xMm: 0, yMm: 0 };
  let found: Crossing | null = null;
  for (let first = 0; first < count; first += 1) {
    if (doublesBack(at(first), at(first + 1), at(first + 2))) {
      found = earlier(found, [first, (first + 1) % count]);
    }
  }
  let under: Side[] = [];
  for (const next of sidesOf(points).toSorted((a, b) => a.left - b.left)) {
    under = under.filter(({ right }) => right >= next.left);
    for (const other of under) {
      const crossing = meeting(next, other, count);
      if (crossing !== null) found = earlier(found, crossing);
    }
    under.push(next);
  }
  return found;
}
