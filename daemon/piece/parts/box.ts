/** A rectangular block. */

import { dimension } from '../geometry/dimensions.ts';
import { drawingOf, measure, point, rectangle } from '../geometry/drawing.ts';
import { lengthField, sizeOf } from '../geometry/sizes.ts';
import type { PartDefinition, PartField, PartShape } from '../model.ts';

function edge(name: string, label: string, typical: number, along: string): PartField {
  const help = `Measure the block ${along} with a caliper, over its outer faces.`;
  return lengthField(name, label, [0.1, typical, 1_000], help);
}

function edges(shape: PartShape): readonly [number, number, number] {
  return [sizeOf(shape, 'lengthMm'), sizeOf(shape, 'widthMm'), sizeOf(shape, 'heightMm')];
}

/** A box a, b, c whose grown corners round: 2 (ab + bc + ca), pi (a + b + c), 4 pi / 3. */
export const boxPart: PartDefinition = {
  kind: 'box',
  title: 'Box',
  group: 'solid',
  explanation: 'A solid rectangular block; all six faces count, and its corners grow round.',
  // Three caliper readings to about 1 % each, and corners that are never quite sharp.
  areaUncertainty: 0.05,
  fields: [
    edge('lengthMm', 'Length', 20, 'along its longest side'),
    edge('widthMm', 'Width', 10, 'across'),
    edge('heightMm', 'Height', 5, 'from bottom to top'),
  ],
  problems: () => [],
  growth(shape) {
    const [length, width, height] = edges(shape);
    return {
      areaMm2: 2 * (length * width + width * height + height * length),
      meanCurvatureMm: Math.PI * (length + width + height),
      gaussThird: (4 * Math.PI) / 3,
    };
  },
  // The cut goes across the longest side, where the block is slimmest.
  crossSection(shape) {
    const [height = 0, width = 0] = edges(shape).toSorted((first, second) => first - second);
    return { shape: 'rectangle', widthMm: width, heightMm: height };
  },
  dimensions(shape) {
    const [length, width, height] = edges(shape);
    return [
      dimension('lengthMm', 'Length', length),
      dimension('widthMm', 'Width', width),
      dimension('heightMm', 'Height', height),
    ];
  },
  // Seen from above, with the front face folded down below it.
  drawing(shape) {
    const [length, width, height] = edges(shape);
    const [x, y] = [length / 2, width / 2];
    return drawingOf(
      rectangle('metal', length, width),
      rectangle('metal', length, height, point(0, y + height / 2)),
      measure('lengthMm', point(-x, -y), point(x, -y)),
      measure('widthMm', point(x, -y), point(x, y)),
      measure('heightMm', point(x, y), point(x, y + height)),
    );
  },
};
