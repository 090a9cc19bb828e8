/** A rectangular block. */

import type { PartDefinition, PartField } from '../model.ts';
import { type Sizes, sizeOf } from './sizes.ts';

function edge(name: string, label: string, typical: number, along: string): PartField {
  return {
    name,
    label,
    unit: 'mm',
    min: 0.1,
    max: 1_000,
    typical,
    help: `Measure the block ${along} with a caliper, over its outer faces.`,
  };
}

function edges(sizes: Sizes): readonly [number, number, number] {
  return [sizeOf(sizes, 'lengthMm'), sizeOf(sizes, 'widthMm'), sizeOf(sizes, 'heightMm')];
}

/** A box a, b, c whose grown corners round: 2 (ab + bc + ca), pi (a + b + c), 4 pi / 3. */
export const boxPart: PartDefinition = {
  kind: 'box',
  title: 'Box',
  explanation: 'A solid rectangular block; all six faces count, and its corners grow round.',
  fields: [
    edge('lengthMm', 'Length', 20, 'along its longest side'),
    edge('widthMm', 'Width', 10, 'across'),
    edge('heightMm', 'Height', 5, 'from bottom to top'),
  ],
  problems: () => [],
  growth(sizes) {
    const [length, width, height] = edges(sizes);
    return {
      areaMm2: 2 * (length * width + width * height + height * length),
      meanCurvatureMm: Math.PI * (length + width + height),
      gaussThird: (4 * Math.PI) / 3,
    };
  },
  closesAtMm: () => null,
  // The cut goes across the longest side, where the block is slimmest.
  crossSection(sizes) {
    const [height = 0, width = 0] = edges(sizes).toSorted((first, second) => first - second);
    return { shape: 'rectangle', widthMm: width, heightMm: height };
  },
};
