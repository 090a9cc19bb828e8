/** A straight round rod with both of its ends. */

import { dimension } from '../geometry/dimensions.ts';
import { arcPoints, drawingOf, measure, point, polygon } from '../geometry/drawing.ts';
import { lengthField, sizeOf, sizeProblem } from '../geometry/sizes.ts';
import { addGrowth, wireSideGrowth, wireWithEndsGrowth } from '../growth.ts';
import type { PartDefinition, PartShape, Problem } from '../model.ts';

function hasRoundEnds(shape: PartShape): boolean {
  return sizeOf(shape, 'ends') === 1;
}

function problems(shape: PartShape): readonly Problem[] {
  const length = sizeOf(shape, 'lengthMm');
  const diameter = sizeOf(shape, 'diameterMm');
  if (!hasRoundEnds(shape) || length >= diameter) {
    return [];
  }
  const advice = 'With round ends the length includes both half balls.';
  return [sizeProblem('lengthMm', length, `at least diameterMm, ${diameter}`, advice)];
}

/**
 * A rod of radius r and overall length L. Flat ends: 2 pi r L + 2 pi r^2, pi L + pi^2 r, 4 pi / 3;
 * round ends: 2 pi r L, pi L + 2 pi r, 4 pi / 3.
 */
export const rodPart: PartDefinition = {
  kind: 'rod',
  title: 'Capped rod',
  group: 'solid',
  explanation: 'A straight round rod; its side and both of its ends count.',
  // Two caliper readings to 1 or 2 %.
  areaUncertainty: 0.05,
  fields: [
    lengthField('diameterMm', 'Diameter', [0.1, 5, 1_000], 'Measure across the rod.'),
    lengthField('lengthMm', 'Length', [0.1, 30, 10_000], 'Measure from end to end.'),
    {
      name: 'ends',
      label: 'Ends',
      unit: 'count',
      min: 0,
      max: 1,
      typical: 0,
      help: 'Choose whether its ends are cut flat or rounded off.',
      choices: [
        { value: 0, label: 'Flat' },
        { value: 1, label: 'Round' },
      ],
    },
  ],
  problems,
  growth(shape) {
    const diameter = sizeOf(shape, 'diameterMm');
    const length = sizeOf(shape, 'lengthMm');
    if (!hasRoundEnds(shape)) {
      return wireWithEndsGrowth(diameter, length);
    }
    return addGrowth(wireSideGrowth(diameter, length - diameter), {
      areaMm2: Math.PI * diameter ** 2,
      meanCurvatureMm: 2 * Math.PI * diameter,
      gaussThird: (4 * Math.PI) / 3,
    });
  },
  crossSection: (shape) => ({ shape: 'round', diameterMm: sizeOf(shape, 'diameterMm') }),
  dimensions: (shape) => [
    dimension('diameterMm', 'Diameter', sizeOf(shape, 'diameterMm')),
    dimension('lengthMm', 'Length', sizeOf(shape, 'lengthMm')),
  ],
  drawing(shape) {
    const radius = sizeOf(shape, 'diameterMm') / 2;
    const x = sizeOf(shape, 'lengthMm') / 2;
    const sides = hasRoundEnds(shape)
      ? [
          ...arcPoints(radius, -90, 90, point(x - radius, 0)),
          ...arcPoints(radius, 90, 270, point(radius - x, 0)),
        ]
      : [point(-x, -radius), point(x, -radius), point(x, radius), point(-x, radius)];
    return drawingOf(
      polygon('metal', sides),
      measure('lengthMm', point(-x, radius), point(x, radius)),
      measure('diameterMm', point(0, -radius), point(0, radius)),
    );
  },
};
