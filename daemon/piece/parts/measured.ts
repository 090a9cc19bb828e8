/** A surface whose area was found elsewhere. */

import { drawingOf, rectangle } from '../geometry/drawing.ts';
import { sizeOf } from '../geometry/sizes.ts';
import type { PartDefinition } from '../model.ts';

// Nobody measured this part's thickness; the picture still needs something to grow on.
const pictureThicknessMm = 1;

/** A given area A taken as flat: A, 0, 0, so that its area stays the same as it grows. */
export const measuredPart: PartDefinition = {
  kind: 'measured',
  title: 'Measured area',
  group: 'other',
  explanation: 'An area found elsewhere, all faces added up; it is reckoned as flat.',
  // Wrapping in foil or paper and weighing or counting it comes to about a tenth.
  areaUncertainty: 0.1,
  fields: [
    {
      name: 'areaMm2',
      label: 'Area',
      unit: 'mm2',
      min: 0.1,
      max: 10_000_000,
      typical: 1_000,
      help: 'Enter the whole wetted area in mm2, both sides; 1 cm2 is 100 mm2.',
    },
  ],
  problems: () => [],
  growth: (shape) => ({ areaMm2: sizeOf(shape, 'areaMm2'), meanCurvatureMm: 0, gaussThird: 0 }),
  crossSection: () => ({ shape: 'flat', thicknessMm: pictureThicknessMm }),
  // No length of it is known.
  dimensions: () => [],
  // A square of that area; its true shape is not known, which the hidden edge says.
  drawing(shape) {
    const side = Math.sqrt(sizeOf(shape, 'areaMm2'));
    return drawingOf(rectangle('hidden', side, side));
  },
};
