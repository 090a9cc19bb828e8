/** A ball. */

import { dimension } from '../geometry/dimensions.ts';
import { circle, drawingOf, measure, point } from '../geometry/drawing.ts';
import { lengthField, sizeOf } from '../geometry/sizes.ts';
import type { PartDefinition } from '../model.ts';

/** A sphere of radius r: 4 pi r^2, 4 pi r, 4 pi / 3. */
export const ballPart: PartDefinition = {
  kind: 'ball',
  title: 'Ball',
  group: 'solid',
  explanation: 'A whole round ball; all of its surface counts.',
  // A caliper reads 0.1 mm of 6, and the area goes with the square; a bead is a little out of round.
  areaUncertainty: 0.05,
  fields: [
    lengthField(
      'diameterMm',
      'Diameter',
      [0.1, 6, 1_000],
      'Measure across the ball with a caliper; for an uneven bead take the mean of three.',
    ),
  ],
  problems: () => [],
  growth(shape) {
    const radius = sizeOf(shape, 'diameterMm') / 2;
    return {
      areaMm2: 4 * Math.PI * radius ** 2,
      meanCurvatureMm: 4 * Math.PI * radius,
      gaussThird: (4 * Math.PI) / 3,
    };
  },
  crossSection: (shape) => ({ shape: 'round', diameterMm: sizeOf(shape, 'diameterMm') }),
  dimensions: (shape) => [dimension('diameterMm', 'Diameter', sizeOf(shape, 'diameterMm'))],
  drawing(shape) {
    const radius = sizeOf(shape, 'diameterMm') / 2;
    const across = measure('diameterMm', point(-radius, 0), point(radius, 0));
    return drawingOf(circle('metal', radius), across);
  },
};
