/** A rim round a round stone. */

import { bezelPart } from '../geometry/bezel.ts';
import { circleCurve } from '../geometry/curves.ts';
import { lengthField, sizeOf } from '../geometry/sizes.ts';

/** The stone is a circle. */
export const bezelRoundPart = bezelPart({
  kind: 'bezel-round',
  title: 'Bezel rim, round',
  explanation: 'A rim round a round stone; its outside and upper edge count, and an empty inside.',
  fields: [lengthField('diameterMm', 'Stone', [0.5, 8, 500], 'Measure across the stone.')],
  problems: () => [],
  measured: ['diameterMm', 'diameterMm'],
  curve: (shape) => circleCurve(sizeOf(shape, 'diameterMm')),
});
