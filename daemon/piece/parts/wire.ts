/** A straight or bent length of round wire. */

import { wireSideGrowth } from '../growth.ts';
import type { PartDefinition } from '../model.ts';
import { sizeOf, wireDiameterField } from './sizes.ts';

/** Round wire: its side of radius r and length L grows as 2 pi r L, pi L, 0. */
export const wirePart: PartDefinition = {
  kind: 'wire',
  title: 'Wire',
  explanation: 'A length of round wire; its side counts, its two cut ends do not.',
  fields: [
    wireDiameterField,
    {
      name: 'lengthMm',
      label: 'Length',
      unit: 'mm',
      min: 0.1,
      max: 10_000,
      typical: 100,
      help: 'Measure along the wire, round its bends, for the part that is below the surface.',
    },
  ],
  problems: () => [],
  growth: (sizes) => wireSideGrowth(sizeOf(sizes, 'wireDiameterMm'), sizeOf(sizes, 'lengthMm')),
  closesAtMm: () => null,
  crossSection: (sizes) => ({ shape: 'round', diameterMm: sizeOf(sizes, 'wireDiameterMm') }),
};
