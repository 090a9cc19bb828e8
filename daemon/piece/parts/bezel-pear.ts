/** A rim round a pear-shaped stone. */

import { bezelPart } from '../geometry/bezel.ts';
import { pearCurve } from '../geometry/curves.ts';
import { lengthField, sizeOf, sizeProblem } from '../geometry/sizes.ts';
import type { PartShape, Problem } from '../model.ts';

function problems(shape: PartShape): readonly Problem[] {
  const length = sizeOf(shape, 'lengthMm');
  const width = sizeOf(shape, 'widthMm');
  if (length > width) {
    return [];
  }
  const advice = 'A pear is longer than it is wide; enter a round stone as round.';
  return [sizeProblem('lengthMm', length, `above widthMm, ${width}`, advice)];
}

/** The stone is a circle with two straight lines to its tip. */
export const bezelPearPart = bezelPart({
  kind: 'bezel-pear',
  title: 'Bezel rim, pear',
  explanation: 'A rim round a pear stone; its outside and upper edge count, and an empty inside.',
  fields: [
    lengthField(
      'lengthMm',
      'Stone length',
      [0.5, 12, 500],
      'Measure from the tip to the round end.',
    ),
    lengthField('widthMm', 'Stone width', [0.5, 8, 500], 'Measure across its widest place.'),
  ],
  problems,
  measured: ['lengthMm', 'widthMm'],
  curve: (shape) => pearCurve(sizeOf(shape, 'lengthMm'), sizeOf(shape, 'widthMm')),
});
