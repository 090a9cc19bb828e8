/** A surface whose area was found elsewhere. */

import type { PartDefinition } from '../model.ts';
import { sizeOf } from './sizes.ts';

// Nobody measured this part's thickness; the picture still needs something to grow on.
const pictureThicknessMm = 1;

/** A given area A taken as flat: A, 0, 0, so that its area stays the same as it grows. */
export const measuredPart: PartDefinition = {
  kind: 'measured',
  title: 'Measured area',
  explanation: 'An area found elsewhere, all faces added up; it is reckoned as flat.',
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
  growth: (sizes) => ({ areaMm2: sizeOf(sizes, 'areaMm2'), meanCurvatureMm: 0, gaussThird: 0 }),
  closesAtMm: () => null,
  crossSection: () => ({ shape: 'flat', thicknessMm: pictureThicknessMm }),
};
