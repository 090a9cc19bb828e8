/** The bare wire that holds a piece in the bath. */

import { wireSideGrowth } from '../growth.ts';
import type { PartDefinition } from '../model.ts';
import { sizeOf, wireDiameterField } from './sizes.ts';

/** Bare wire below the surface, side only: 2 pi r L, pi L, 0; it takes current like the piece. */
export const hangerPart: PartDefinition = {
  kind: 'hanger',
  title: 'Hanger',
  explanation: 'Bare wire below the surface that holds the piece; it takes metal too.',
  fields: [
    wireDiameterField,
    {
      name: 'submergedLengthMm',
      label: 'Length below the surface',
      unit: 'mm',
      min: 0.1,
      max: 10_000,
      typical: 40,
      help: 'Measure the bare wire from the surface of the bath to the piece; leave out lacquer.',
    },
  ],
  problems: () => [],
  growth: (sizes) =>
    wireSideGrowth(sizeOf(sizes, 'wireDiameterMm'), sizeOf(sizes, 'submergedLengthMm')),
  closesAtMm: () => null,
  crossSection: (sizes) => ({ shape: 'round', diameterMm: sizeOf(sizes, 'wireDiameterMm') }),
};
