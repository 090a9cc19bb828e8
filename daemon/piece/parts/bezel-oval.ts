/** A rim round an oval stone. */

import { bezelPart } from '../geometry/bezel.ts';
import { ellipseCurve } from '../geometry/curves.ts';
import { lengthField, sizeOf } from '../geometry/sizes.ts';

/** The stone is an ellipse. */
export const bezelOvalPart = bezelPart({
  kind: 'bezel-oval',
  title: 'Bezel rim, oval',
  explanation: 'A rim round an oval stone; its outside and upper edge count, and an empty inside.',
  fields: [
    lengthField('lengthMm', 'Stone length', [0.5, 14, 500], 'Measure the longer way.'),
    lengthField('widthMm', 'Stone width', [0.5, 10, 500], 'Measure the shorter way.'),
  ],
  problems: () => [],
  measured: ['lengthMm', 'widthMm'],
  curve: (shape) => ellipseCurve(sizeOf(shape, 'lengthMm'), sizeOf(shape, 'widthMm')),
});
