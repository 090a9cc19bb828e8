/** A rim round a rectangular stone. */

import { bezelPart } from '../geometry/bezel.ts';
import { rectangleCurve } from '../geometry/curves.ts';
import { lengthField, sizeOf } from '../geometry/sizes.ts';

/** The stone has square corners; the outside of the rim goes round them. */
export const bezelRectanglePart = bezelPart({
  kind: 'bezel-rectangle',
  title: 'Bezel rim, rectangular',
  explanation: 'A rim round a square stone; its outside and upper edge count, and an empty inside.',
  fields: [
    lengthField('lengthMm', 'Stone length', [0.5, 12, 500], 'Measure the longer side.'),
    lengthField('widthMm', 'Stone width', [0.5, 9, 500], 'Measure the shorter side.'),
  ],
  problems: () => [],
  measured: ['lengthMm', 'widthMm'],
  curve: (shape) => rectangleCurve(sizeOf(shape, 'lengthMm'), sizeOf(shape, 'widthMm')),
});
