/** A closed ring of flat strip. */

import { dimension, opening } from '../geometry/dimensions.ts';
import { circle, drawingOf, measure, point, rectangle } from '../geometry/drawing.ts';
import { line, revolvedGrowth } from '../geometry/revolution.ts';
import { lengthField, sheetThicknessField, sizeOf } from '../geometry/sizes.ts';
import type { PartDefinition } from '../model.ts';

/** A rectangle turned about the axis: all four of its sides count (Pappus). */
export const bandPart: PartDefinition = {
  kind: 'band',
  title: 'Flat band',
  group: 'wire',
  explanation: 'A closed ring of flat strip; its inside, its outside and both edges count.',
  // Caliper readings to 1 or 2 %, and edges that are rounded rather than square.
  areaUncertainty: 0.05,
  fields: [
    lengthField(
      'insideDiameterMm',
      'Inside diameter',
      [0.2, 17, 3_000],
      'Measure the clear opening of the ring before any metal grows.',
    ),
    lengthField('widthMm', 'Width', [0.1, 4, 1_000], 'Measure across the strip, along the finger.'),
    { ...sheetThicknessField, typical: 1 },
  ],
  problems: () => [],
  growth(shape) {
    const inside = sizeOf(shape, 'insideDiameterMm') / 2;
    const outside = inside + sizeOf(shape, 'thicknessMm');
    const width = sizeOf(shape, 'widthMm');
    return revolvedGrowth(
      [
        line(inside, 0, outside, 0),
        line(outside, 0, outside, width),
        line(outside, width, inside, width),
        line(inside, width, inside, 0),
      ],
      'ring',
    );
  },
  crossSection: (shape) => ({
    shape: 'rectangle',
    widthMm: sizeOf(shape, 'widthMm'),
    heightMm: sizeOf(shape, 'thicknessMm'),
  }),
  dimensions(shape) {
    const inside = sizeOf(shape, 'insideDiameterMm');
    const thickness = sizeOf(shape, 'thicknessMm');
    return [
      opening('insideDiameterMm', 'Inside diameter', inside),
      dimension('outsideDiameterMm', 'Outside diameter', inside + 2 * thickness),
      dimension('widthMm', 'Width', sizeOf(shape, 'widthMm')),
      dimension('thicknessMm', 'Thickness', thickness),
    ];
  },
  // Along the finger, and beside it the band from the side.
  drawing(shape) {
    const inside = sizeOf(shape, 'insideDiameterMm') / 2;
    const outside = inside + sizeOf(shape, 'thicknessMm');
    const width = sizeOf(shape, 'widthMm');
    const x = outside + width;
    return drawingOf(
      circle('metal', outside),
      circle('metal', inside),
      rectangle('metal', width, 2 * outside, point(x, 0)),
      measure('insideDiameterMm', point(-inside, 0), point(inside, 0)),
      measure('widthMm', point(x - width / 2, outside), point(x + width / 2, outside)),
    );
  },
};
