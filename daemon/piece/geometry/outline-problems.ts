/** Finds what is wrong with a traced outline. */

import type { Outline, Point, Problem } from '../model.ts';
import { crossingSides, extentMm, perimeterMm, signedAreaMm2 } from './polygon.ts';

// Fewest points that enclose an area, and most that are looked at.
const fewestPoints = 3;
const mostPoints = 2_000;

// Largest and smallest extent of an outline, mm.
const largestMm = 10_000;
const smallestMm = 0.1;

// A sliver narrower than this share of its perimeter is a line, not an area.
const thinnestShare = 1e-6;

function outlineProblem(place: string, value: string, bound: string, advice: string): Problem {
  const field = place === '' ? 'outline' : `outline.${place}`;
  return { field, value, bound, message: `${field} is ${value}; it must be ${bound}. ${advice}` };
}

function shown({ xMm, yMm }: Point): string {
  return `(${Number(xMm.toFixed(3))}, ${Number(yMm.toFixed(3))})`;
}

function pointProblems(points: readonly Point[]): readonly Problem[] {
  for (const [index, here] of points.entries()) {
    if (!Number.isFinite(here.xMm) || !Number.isFinite(here.yMm)) {
      const value = `(${here.xMm}, ${here.yMm})`;
      const bound = 'two finite numbers, in mm';
      return [outlineProblem(`points[${index}]`, value, bound, 'Set that point again.')];
    }
    const next = points[(index + 1) % points.length];
    if (next !== undefined && here.xMm === next.xMm && here.yMm === next.yMm) {
      const place = `points[${(index + 1) % points.length}]`;
      const bound = `different from the point before it, points[${index}]`;
      const advice = 'Remove one of the two; the outline closes by itself.';
      return [outlineProblem(place, shown(next), bound, advice)];
    }
  }
  return [];
}

function shapeProblems(points: readonly Point[]): readonly Problem[] {
  const { widthMm, heightMm } = extentMm(points);
  const largest = Math.max(widthMm, heightMm);
  if (largest > largestMm || largest < smallestMm) {
    const bound = `from ${smallestMm} to ${largestMm} mm at its widest`;
    const value = `${largest.toPrecision(4)} mm wide`;
    return [outlineProblem('', value, bound, 'Check the scale of the picture.')];
  }
  const area = Math.abs(signedAreaMm2(points));
  const nothing = area < thinnestShare * perimeterMm(points) ** 2;
  if (nothing && breadthMm(points) < thinnestShare * perimeterMm(points)) {
    const bound = 'the line round an area above 0 mm2';
    return [outlineProblem('points', `${area} mm2`, bound, 'Its points lie on one line.')];
  }
  // The two halves of a bow tie cancel out, so nothing enclosed is no proof of a line.
  const crossing = crossingSides(points);
  if (crossing !== null) return [crossingProblem(crossing)];
  if (!nothing) return [];
  const bound = 'the line round an area above 0 mm2';
  return [outlineProblem('points', `${area} mm2`, bound, 'Its sides lie on one another.')];
}

/** How far a point lies from the line through the first point and the one farthest from it, mm. */
function breadthMm(points: readonly Point[]): number {
  const [first = { xMm: 0, yMm: 0 }] = points;
  const from = points.map(({ xMm, yMm }) => ({ x: xMm - first.xMm, y: yMm - first.yMm }));
  const farthest = from.reduce((far, one) =>
    Math.hypot(one.x, one.y) > Math.hypot(far.x, far.y) ? one : far,
  );
  const length = Math.hypot(farthest.x, farthest.y);
  return Math.max(...from.map(({ x, y }) => Math.abs(x * farthest.y - y * farthest.x) / length));
}

function crossingProblem([first, second]: readonly [number, number]): Problem {
  const value = `crossed by itself: the line from points[${first}] meets that from points[${second}]`;
  const advice = 'Move or remove one of their points.';
  return outlineProblem('points', value, 'a line that never meets itself', advice);
}

/** What makes an outline impossible, the first thing that does; empty for a sound one. */
export function outlineProblems(outline: Outline | undefined): readonly Problem[] {
  if (outline === undefined) {
    const bound = 'a closed polygon';
    return [outlineProblem('', 'missing', bound, 'Trace it on a picture, or enter its area.')];
  }
  const { points } = outline;
  if (points.length < fewestPoints || points.length > mostPoints) {
    const bound = `${fewestPoints} to ${mostPoints} points`;
    const advice = 'Click round the edge and close the outline.';
    return [outlineProblem('points', `${points.length} points`, bound, advice)];
  }
  const wrong = pointProblems(points);
  return wrong.length > 0 ? wrong : shapeProblems(points);
}
