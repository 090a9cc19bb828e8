/** A round dome, such as the side of a cabochon. */

import { baseField, countsBase } from '../geometry/choices.ts';
import { dimension } from '../geometry/dimensions.ts';
import { arcPoints, drawingOf, measure, point, polyline } from '../geometry/drawing.ts';
import { lengthField, sizeOf, sizeProblem } from '../geometry/sizes.ts';
import type { PartDefinition, PartShape, Problem } from '../model.ts';

interface Dome {
  readonly base: number;
  readonly height: number;
  /** Radius of the sphere it is cut from. */
  readonly round: number;
}

function domeOf(shape: PartShape): Dome {
  const base = sizeOf(shape, 'diameterMm') / 2;
  const height = sizeOf(shape, 'heightMm');
  return { base, height, round: (base ** 2 + height ** 2) / (2 * height) };
}

function problems(shape: PartShape): readonly Problem[] {
  const { base, height } = domeOf(shape);
  if (height <= base) {
    return [];
  }
  const advice = 'A dome higher than half its width is a ball, an oval dome or an ellipsoid.';
  return [sizeProblem('heightMm', height, `at most half of diameterMm, ${base}`, advice)];
}

/**
 * A cap of a sphere of radius R and height h on a base of radius a: its side alone is 2 pi R h,
 * 2 pi h, 2 pi h / (3 R); what grows over the edge of a hidden base is left out. A base that counts
 * adds pi a^2, pi a times the angle its rim turns, and all other directions to make 4 pi / 3.
 */
export const domePart: PartDefinition = {
  kind: 'dome',
  title: 'Dome',
  group: 'solid',
  explanation: 'A round dome like a cabochon; its curved side counts, its base if you say so.',
  // Two caliper readings, and a side that is seldom part of a true ball.
  areaUncertainty: 0.07,
  fields: [
    lengthField('diameterMm', 'Diameter', [0.2, 10, 1_000], 'Measure across the base.'),
    lengthField('heightMm', 'Height', [0.05, 4, 500], 'Measure from the base to the top.'),
    { ...baseField, typical: 0 },
  ],
  problems,
  growth(shape) {
    const { base, height, round } = domeOf(shape);
    const side = {
      areaMm2: 2 * Math.PI * round * height,
      meanCurvatureMm: 2 * Math.PI * height,
      gaussThird: (2 * Math.PI * height) / (3 * round),
    };
    if (!countsBase(shape)) {
      return side;
    }
    // How far the side leans outwards at the rim: none for half a ball.
    const lean = Math.atan2(round - height, base);
    return {
      areaMm2: side.areaMm2 + Math.PI * base ** 2,
      meanCurvatureMm: side.meanCurvatureMm + Math.PI * base * (Math.PI / 2 + lean),
      gaussThird: (4 * Math.PI) / 3,
    };
  },
  crossSection: (shape) => ({
    shape: 'rectangle',
    widthMm: sizeOf(shape, 'diameterMm'),
    heightMm: sizeOf(shape, 'heightMm'),
  }),
  dimensions: (shape) => [
    dimension('diameterMm', 'Diameter', sizeOf(shape, 'diameterMm')),
    dimension('heightMm', 'Height', sizeOf(shape, 'heightMm'), countsBase(shape) ? 2 : 1),
  ],
  // From the side.
  drawing(shape) {
    const { base, height, round } = domeOf(shape);
    const half = (Math.atan2(base, round - height) * 180) / Math.PI;
    const side = arcPoints(round, -90 - half, -90 + half, point(0, round - height));
    return drawingOf(
      polyline('metal', side),
      polyline(countsBase(shape) ? 'metal' : 'hidden', [point(-base, 0), point(base, 0)]),
      measure('diameterMm', point(-base, height / 8), point(base, height / 8)),
      measure('heightMm', point(0, 0), point(0, -height)),
    );
  },
};
