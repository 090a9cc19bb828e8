/** A straight or bent length of round wire. */

import { dimension } from '../geometry/dimensions.ts';
import { drawingOf, measure, point, rectangle } from '../geometry/drawing.ts';
import { lengthField, sizeOf, wireDiameterField } from '../geometry/sizes.ts';
import { wireSideGrowth } from '../growth.ts';
import type { PartDefinition } from '../model.ts';

/** Round wire: its side of radius r and length L grows as 2 pi r L, pi L, 0. */
export const wirePart: PartDefinition = {
  kind: 'wire',
  title: 'Wire',
  group: 'wire',
  explanation: 'A length of round wire; its side counts, its two cut ends do not.',
  // A caliper reads 0.02 to 0.04 mm of 0.8, paint included.
  areaUncertainty: 0.05,
  fields: [
    wireDiameterField,
    lengthField(
      'lengthMm',
      'Length',
      [0.1, 100, 10_000],
      'Measure along the wire, round its bends, for the part that is below the surface.',
    ),
  ],
  problems: () => [],
  growth: (shape) => wireSideGrowth(sizeOf(shape, 'wireDiameterMm'), sizeOf(shape, 'lengthMm')),
  crossSection: (shape) => ({ shape: 'round', diameterMm: sizeOf(shape, 'wireDiameterMm') }),
  dimensions: (shape) => [
    dimension('wireDiameterMm', 'Wire diameter', sizeOf(shape, 'wireDiameterMm')),
  ],
  drawing(shape) {
    const wire = sizeOf(shape, 'wireDiameterMm');
    const x = sizeOf(shape, 'lengthMm') / 2;
    return drawingOf(
      rectangle('metal', 2 * x, wire),
      measure('lengthMm', point(-x, wire), point(x, wire)),
    );
  },
};
