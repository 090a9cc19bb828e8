/** Builds drawings of parts to scale: points, shapes, and the rectangle round them. */

import type { Drawing, DrawingRole, Point, Stroke } from '../model.ts';

// Room round a drawing, as a share of its larger side.
const marginShare = 0.06;

/** A point in mm. */
export function point(xMm: number, yMm: number): Point {
  return { xMm, yMm };
}

/** A closed shape. */
export function polygon(role: DrawingRole, points: readonly Point[]): Stroke {
  return { shape: 'polygon', role, points };
}

/** An open line. */
export function polyline(role: DrawingRole, points: readonly Point[]): Stroke {
  return { shape: 'polyline', role, points };
}

/** A circle about a point. */
export function circle(role: DrawingRole, radiusMm: number, centre = point(0, 0)): Stroke {
  return { shape: 'circle', role, centre, radiusMm };
}

/** An upright ellipse about a point. */
export function ellipse(
  role: DrawingRole,
  radiusXMm: number,
  radiusYMm: number,
  centre = point(0, 0),
): Stroke {
  return { shape: 'ellipse', role, centre, radiusXMm, radiusYMm };
}

/** An upright rectangle about a point. */
export function rectangle(
  role: DrawingRole,
  widthMm: number,
  heightMm: number,
  { xMm, yMm } = point(0, 0),
): Stroke {
  const [x, y] = [widthMm / 2, heightMm / 2];
  return polygon(role, [
    point(xMm - x, yMm - y),
    point(xMm + x, yMm - y),
    point(xMm + x, yMm + y),
    point(xMm - x, yMm + y),
  ]);
}

/**
 * Points along an arc, in degrees from the right by way of below, at most 6 degrees apart, both ends
 * included.
 */
export function arcPoints(
  radiusMm: number,
  fromDegrees: number,
  toDegrees: number,
  { xMm, yMm } = point(0, 0),
): readonly Point[] {
  const steps = Math.max(1, Math.ceil(Math.abs(toDegrees - fromDegrees) / 6));
  return Array.from({ length: steps + 1 }, (_, index) => {
    const angle = ((fromDegrees + ((toDegrees - fromDegrees) * index) / steps) * Math.PI) / 180;
    return point(xMm + radiusMm * Math.cos(angle), yMm + radiusMm * Math.sin(angle));
  });
}

/** A line that shows the size of that name. */
export function measure(measures: string, from: Point, to: Point): Stroke {
  return { shape: 'polyline', role: 'measure', points: [from, to], measures };
}

function corners(stroke: Stroke): readonly Point[] {
  switch (stroke.shape) {
    case 'polyline':
    case 'polygon':
      return stroke.points;
    case 'circle':
    case 'ellipse': {
      const { xMm, yMm } = stroke.centre;
      const x = stroke.shape === 'circle' ? stroke.radiusMm : stroke.radiusXMm;
      const y = stroke.shape === 'circle' ? stroke.radiusMm : stroke.radiusYMm;
      return [point(xMm - x, yMm - y), point(xMm + x, yMm + y)];
    }
    default:
      return stroke satisfies never;
  }
}

/** A drawing of those strokes with a little room round them; expects at least one stroke. */
export function drawingOf(...strokes: readonly Stroke[]): Drawing {
  // Not spread into one call: a traced outline can hold thousands of points.
  let [left, top] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  let [right, bottom] = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const { xMm, yMm } of strokes.flatMap(corners)) {
    left = Math.min(left, xMm);
    right = Math.max(right, xMm);
    top = Math.min(top, yMm);
    bottom = Math.max(bottom, yMm);
  }
  const margin = marginShare * Math.max(right - left, bottom - top);
  const viewBox = {
    xMm: left - margin,
    yMm: top - margin,
    widthMm: right - left + 2 * margin,
    heightMm: bottom - top + 2 * margin,
  };
  return { viewBox, strokes };
}
