/** An ellipsoid, such as a pebble. */

import { dimension } from '../geometry/dimensions.ts';
import { drawingOf, ellipse, measure, point } from '../geometry/drawing.ts';
import { ellipsoidGrowth } from '../geometry/elliptic.ts';
import { lengthField, sizeOf } from '../geometry/sizes.ts';
import type { PartDefinition, PartShape } from '../model.ts';

function axes(shape: PartShape): readonly [number, number, number] {
  return [sizeOf(shape, 'lengthMm'), sizeOf(shape, 'widthMm'), sizeOf(shape, 'heightMm')];
}

/** An ellipsoid by its three full axes. */
export const ellipsoidPart: PartDefinition = {
  kind: 'ellipsoid',
  title: 'Ellipsoid',
  group: 'solid',
  explanation: 'A pebble, bean or egg with three different widths; all of its surface counts.',
  // Three caliper readings, and natural things that are not quite ellipsoids.
  areaUncertainty: 0.08,
  fields: [
    lengthField('lengthMm', 'Length', [0.1, 16, 1_000], 'Measure its longest way.'),
    lengthField('widthMm', 'Width', [0.1, 12, 1_000], 'Measure across, square to the length.'),
    lengthField('heightMm', 'Height', [0.1, 8, 1_000], 'Measure its thickness, square to both.'),
  ],
  problems: () => [],
  growth(shape) {
    const [length, width, height] = axes(shape);
    return ellipsoidGrowth(length / 2, width / 2, height / 2);
  },
  crossSection(shape) {
    const [height = 0, width = 0] = axes(shape).toSorted((first, second) => first - second);
    return { shape: 'rectangle', widthMm: width, heightMm: height };
  },
  dimensions(shape) {
    const [length, width, height] = axes(shape);
    return [
      dimension('lengthMm', 'Length', length),
      dimension('widthMm', 'Width', width),
      dimension('heightMm', 'Height', height),
    ];
  },
  // From above, and below it from the side.
  drawing(shape) {
    const [length, width, height] = axes(shape);
    const [x, y, z] = [length / 2, width / 2, height / 2];
    const below = y + height;
    return drawingOf(
      ellipse('metal', x, y),
      ellipse('metal', x, z, point(0, below)),
      measure('lengthMm', point(-x, 0), point(x, 0)),
      measure('widthMm', point(0, -y), point(0, y)),
      measure('heightMm', point(0, below - z), point(0, below + z)),
    );
  },
};
