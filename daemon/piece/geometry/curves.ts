/** Closed convex curves in the plane: outlines of stones. */

import type { Point } from '../model.ts';
import { arcPoints, point } from './drawing.ts';
import { ellipsePerimeterMm } from './elliptic.ts';
import { turningWeight } from './turning.ts';

/** A closed convex curve, its sizes exact, and points along it to draw it by. */
export interface Curve {
  readonly perimeterMm: number;
  readonly areaMm2: number;
  readonly lengthMm: number;
  readonly widthMm: number;
  /** How far its normal turns in all, seen from inside: 2 pi where it has no corners. */
  readonly insideTurning: number;
  readonly points: readonly Point[];
}

const fullTurn = 2 * Math.PI;

/** A circle by its diameter, mm. */
export function circleCurve(diameterMm: number): Curve {
  return {
    perimeterMm: Math.PI * diameterMm,
    areaMm2: (Math.PI * diameterMm ** 2) / 4,
    lengthMm: diameterMm,
    widthMm: diameterMm,
    insideTurning: fullTurn,
    points: arcPoints(diameterMm / 2, 0, 360),
  };
}

/** An ellipse by its axes, mm. */
export function ellipseCurve(lengthMm: number, widthMm: number): Curve {
  return {
    perimeterMm: ellipsePerimeterMm(lengthMm / 2, widthMm / 2),
    areaMm2: (Math.PI * lengthMm * widthMm) / 4,
    lengthMm,
    widthMm,
    insideTurning: fullTurn,
    points: arcPoints(1, 0, 360).map(({ xMm, yMm }) =>
      point((xMm * lengthMm) / 2, (yMm * widthMm) / 2),
    ),
  };
}

/** A rectangle with square corners, by its sides, mm. */
export function rectangleCurve(lengthMm: number, widthMm: number): Curve {
  const [x, y] = [lengthMm / 2, widthMm / 2];
  return {
    perimeterMm: 2 * (lengthMm + widthMm),
    areaMm2: lengthMm * widthMm,
    lengthMm,
    widthMm,
    insideTurning: -4 * turningWeight(-Math.PI / 2),
    points: [point(-x, -y), point(x, -y), point(x, y), point(-x, y)],
  };
}

/**
 * A pear: a circle as wide as it, and the two straight lines from its tip that touch the circle.
 * Its length must be above its width, mm; a real pear bulges a little more, by 1 to 3 % of its
 * perimeter.
 */
export function pearCurve(lengthMm: number, widthMm: number): Curve {
  const radius = widthMm / 2;
  const tip = lengthMm - radius;
  // Half the angle at the centre between the two points where the lines touch.
  const half = Math.acos(radius / tip);
  const side = Math.sqrt(tip ** 2 - radius ** 2);
  const degrees = (half * 180) / Math.PI;
  return {
    perimeterMm: radius * (fullTurn - 2 * half) + 2 * side,
    areaMm2: radius ** 2 * (Math.PI - half) + radius * side,
    lengthMm,
    widthMm,
    insideTurning: fullTurn - 2 * half - turningWeight(-2 * half),
    points: [...arcPoints(radius, degrees, 360 - degrees), point(tip, 0)],
  };
}
