/** A round tube, open at both ends. */

import { dimension, opening } from '../geometry/dimensions.ts';
import { circle, drawingOf, measure, point, polyline, rectangle } from '../geometry/drawing.ts';
import { lengthField, sizeOf, sizeProblem } from '../geometry/sizes.ts';
import type { PartDefinition, PartShape, Problem } from '../model.ts';

function problems(shape: PartShape): readonly Problem[] {
  const outside = sizeOf(shape, 'outsideDiameterMm');
  const inside = sizeOf(shape, 'insideDiameterMm');
  if (inside < outside) {
    return [];
  }
  const advice = 'The bore is wider than the tube; check which diameter is which.';
  return [sizeProblem('insideDiameterMm', inside, `below outsideDiameterMm, ${outside}`, advice)];
}

/**
 * A tube of outside radius R, inside radius r and length L: 2 pi (R + r)(R - r + L), pi^2 (R + r),
 * 0. It is the wall's rectangle turned about the axis, so Pappus gives its growth exactly, ends and
 * rounded rims included. The bore's curvature is negative and cancels that of the outside.
 */
export const tubePart: PartDefinition = {
  kind: 'tube',
  title: 'Tube',
  group: 'solid',
  explanation: 'An open round tube; its outside, its bore and its two ring-shaped ends count.',
  // Caliper readings to 1 or 2 %, and a bore that takes less metal than its area says.
  areaUncertainty: 0.1,
  fields: [
    lengthField(
      'outsideDiameterMm',
      'Outside diameter',
      [0.2, 6, 1_000],
      'Measure across the outside of the tube with a caliper.',
    ),
    lengthField(
      'insideDiameterMm',
      'Inside diameter',
      [0.1, 4, 1_000],
      'Measure the bore; one much deeper than it is wide takes less metal than reckoned.',
    ),
    lengthField('lengthMm', 'Length', [0.1, 20, 10_000], 'Measure from end to end along the axis.'),
  ],
  problems,
  growth(shape) {
    const outsideRadius = sizeOf(shape, 'outsideDiameterMm') / 2;
    const insideRadius = sizeOf(shape, 'insideDiameterMm') / 2;
    const wallAndLength = outsideRadius - insideRadius + sizeOf(shape, 'lengthMm');
    return {
      areaMm2: 2 * Math.PI * (outsideRadius + insideRadius) * wallAndLength,
      meanCurvatureMm: Math.PI ** 2 * (outsideRadius + insideRadius),
      gaussThird: 0,
    };
  },
  crossSection: (shape) => ({
    shape: 'tube',
    outsideMm: sizeOf(shape, 'outsideDiameterMm'),
    insideMm: sizeOf(shape, 'insideDiameterMm'),
  }),
  dimensions: (shape) => [
    dimension('outsideDiameterMm', 'Outside diameter', sizeOf(shape, 'outsideDiameterMm')),
    opening('insideDiameterMm', 'Inside diameter', sizeOf(shape, 'insideDiameterMm')),
    dimension('lengthMm', 'Length', sizeOf(shape, 'lengthMm')),
  ],
  // From the side, and beside it the end.
  drawing(shape) {
    const outside = sizeOf(shape, 'outsideDiameterMm') / 2;
    const inside = sizeOf(shape, 'insideDiameterMm') / 2;
    const length = sizeOf(shape, 'lengthMm');
    const end = point(length / 2 + 2 * outside, 0);
    const bore = (y: number) => polyline('hidden', [point(-length / 2, y), point(length / 2, y)]);
    return drawingOf(
      rectangle('metal', length, 2 * outside),
      bore(-inside),
      bore(inside),
      circle('metal', outside, end),
      circle('metal', inside, end),
      measure('lengthMm', point(-length / 2, outside), point(length / 2, outside)),
      measure('insideDiameterMm', point(end.xMm - inside, 0), point(end.xMm + inside, 0)),
    );
  },
};
