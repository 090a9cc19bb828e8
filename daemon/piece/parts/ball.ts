/** A ball. */

import type { PartDefinition } from '../model.ts';
import { sizeOf } from './sizes.ts';

/** A sphere of radius r: 4 pi r^2, 4 pi r, 4 pi / 3. */
export const ballPart: PartDefinition = {
  kind: 'ball',
  title: 'Ball',
  explanation: 'A whole round ball; all of its surface counts.',
  fields: [
    {
      name: 'diameterMm',
      label: 'Diameter',
      unit: 'mm',
      min: 0.1,
      max: 1_000,
      typical: 6,
      help: 'Measure across the ball with a caliper; for an uneven bead take the mean of three.',
    },
  ],
  problems: () => [],
  growth(sizes) {
    const radius = sizeOf(sizes, 'diameterMm') / 2;
    return {
      areaMm2: 4 * Math.PI * radius ** 2,
      meanCurvatureMm: 4 * Math.PI * radius,
      gaussThird: (4 * Math.PI) / 3,
    };
  },
  closesAtMm: () => null,
  crossSection: (sizes) => ({ shape: 'round', diameterMm: sizeOf(sizes, 'diameterMm') }),
};
