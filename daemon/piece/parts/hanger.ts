/** The bare wire that holds a piece in the bath. */

import { dimension } from '../geometry/dimensions.ts';
import { drawingOf, measure, point, polyline, rectangle } from '../geometry/drawing.ts';
import { lengthField, sizeOf, wireDiameterField } from '../geometry/sizes.ts';
import { wireSideGrowth } from '../growth.ts';
import type { PartDefinition } from '../model.ts';

/** Bare wire below the surface, side only: 2 pi r L, pi L, 0; it takes current like the piece. */
export const hangerPart: PartDefinition = {
  kind: 'hanger',
  title: 'Hanger',
  group: 'support',
  explanation: 'Bare wire or lead below the surface that holds the piece; it takes metal too.',
  // How deep a piece hangs changes as the bath dries out: 4 mm of 40 is a tenth.
  areaUncertainty: 0.12,
  fields: [
    wireDiameterField,
    lengthField(
      'submergedLengthMm',
      'Length below the surface',
      [0.1, 40, 10_000],
      'Measure the bare wire from the surface of the bath to the piece; leave out lacquer.',
    ),
  ],
  problems: () => [],
  growth: (shape) =>
    wireSideGrowth(sizeOf(shape, 'wireDiameterMm'), sizeOf(shape, 'submergedLengthMm')),
  crossSection: (shape) => ({ shape: 'round', diameterMm: sizeOf(shape, 'wireDiameterMm') }),
  dimensions: (shape) => [
    dimension('wireDiameterMm', 'Wire diameter', sizeOf(shape, 'wireDiameterMm')),
  ],
  // The hidden line across it is the surface of the bath.
  drawing(shape) {
    const length = sizeOf(shape, 'submergedLengthMm');
    const wire = sizeOf(shape, 'wireDiameterMm');
    return drawingOf(
      rectangle('metal', wire, length, point(0, length / 2)),
      polyline('hidden', [point(-2 * wire, 0), point(2 * wire, 0)]),
      measure('submergedLengthMm', point(wire, 0), point(wire, length)),
    );
  },
};
