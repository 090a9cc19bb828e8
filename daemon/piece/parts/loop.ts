/** A closed ring of round wire. */

import type { PartDefinition } from '../model.ts';
import { sizeOf, wireDiameterField } from './sizes.ts';

/** A torus of mid-line radius R and wire radius r: 4 pi^2 R r, 2 pi^2 R, 0. */
export const loopPart: PartDefinition = {
  kind: 'loop',
  title: 'Loop',
  explanation: 'A closed ring of round wire; its whole surface counts, inside and outside.',
  fields: [
    {
      name: 'insideDiameterMm',
      label: 'Inside diameter',
      unit: 'mm',
      min: 0.2,
      max: 3_000,
      typical: 17,
      help: 'Measure the clear opening of the ring, from wire to wire, before any metal grows.',
    },
    wireDiameterField,
  ],
  problems: () => [],
  growth(sizes) {
    const wireRadius = sizeOf(sizes, 'wireDiameterMm') / 2;
    const ringRadius = sizeOf(sizes, 'insideDiameterMm') / 2 + wireRadius;
    return {
      areaMm2: 4 * Math.PI ** 2 * ringRadius * wireRadius,
      meanCurvatureMm: 2 * Math.PI ** 2 * ringRadius,
      gaussThird: 0,
    };
  },
  closesAtMm: (sizes) => sizeOf(sizes, 'insideDiameterMm') / 2,
  crossSection: (sizes) => ({ shape: 'round', diameterMm: sizeOf(sizes, 'wireDiameterMm') }),
};
