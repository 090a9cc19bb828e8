/** A round tube, open at both ends. */

import type { PartDefinition, Problem } from '../model.ts';
import { type Sizes, sizeOf, sizeProblem } from './sizes.ts';

function problems(sizes: Sizes): readonly Problem[] {
  const outside = sizeOf(sizes, 'outsideDiameterMm');
  const inside = sizeOf(sizes, 'insideDiameterMm');
  if (inside < outside) {
    return [];
  }
  const advice = 'The bore is wider than the tube; check which diameter is which.';
  return [sizeProblem('insideDiameterMm', inside, `below outsideDiameterMm, ${outside}`, advice)];
}

/**
 * A tube of outside radius R, inside radius r and length L: 2 pi (R + r)(R - r + L), pi^2 (R + r),
 * 0. It is the wall's rectangle turned about the axis, so Pappus gives its growth exactly, ends and
 * rounded rims included. The bore's curvature is negative and cancels that of the outside.
 */
export const tubePart: PartDefinition = {
  kind: 'tube',
  title: 'Tube',
  explanation: 'An open round tube; its outside, its bore and its two ring-shaped ends count.',
  fields: [
    {
      name: 'outsideDiameterMm',
      label: 'Outside diameter',
      unit: 'mm',
      min: 0.2,
      max: 1_000,
      typical: 6,
      help: 'Measure across the outside of the tube with a caliper.',
    },
    {
      name: 'insideDiameterMm',
      label: 'Inside diameter',
      unit: 'mm',
      min: 0.1,
      max: 1_000,
      typical: 4,
      help: 'Measure the bore; one much deeper than it is wide takes less metal than reckoned.',
    },
    {
      name: 'lengthMm',
      label: 'Length',
      unit: 'mm',
      min: 0.1,
      max: 10_000,
      typical: 20,
      help: 'Measure from end to end along the axis.',
    },
  ],
  problems,
  growth(sizes) {
    const outsideRadius = sizeOf(sizes, 'outsideDiameterMm') / 2;
    const insideRadius = sizeOf(sizes, 'insideDiameterMm') / 2;
    const wallAndLength = outsideRadius - insideRadius + sizeOf(sizes, 'lengthMm');
    return {
      areaMm2: 2 * Math.PI * (outsideRadius + insideRadius) * wallAndLength,
      meanCurvatureMm: Math.PI ** 2 * (outsideRadius + insideRadius),
      gaussThird: 0,
    };
  },
  closesAtMm: (sizes) => sizeOf(sizes, 'insideDiameterMm') / 2,
  crossSection: (sizes) => ({
    shape: 'tube',
    outsideMm: sizeOf(sizes, 'outsideDiameterMm'),
    insideMm: sizeOf(sizes, 'insideDiameterMm'),
  }),
};
