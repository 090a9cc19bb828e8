/** A flat rectangular sheet with a rounded rim. */

import { dimension } from '../geometry/dimensions.ts';
import { drawingOf, measure, point, rectangle } from '../geometry/drawing.ts';
import { lengthField, sheetThicknessField, sizeOf, sizeProblem } from '../geometry/sizes.ts';
import { rimmedGrowth } from '../growth.ts';
import type { PartDefinition, PartShape, Problem } from '../model.ts';

function problems(shape: PartShape): readonly Problem[] {
  const thickness = sizeOf(shape, 'thicknessMm');
  const narrowest = Math.min(sizeOf(shape, 'lengthMm'), sizeOf(shape, 'widthMm'));
  if (thickness <= narrowest) {
    return [];
  }
  const bound = `at most its narrowest side, ${narrowest}`;
  return [sizeProblem('thicknessMm', thickness, bound, 'Enter a thick block as a box.')];
}

/**
 * A sheet with a half-round rim. Length and width are measured over the rim, so the mid-face is
 * smaller by half the thickness on every side.
 */
export const sheetPart: PartDefinition = {
  kind: 'sheet',
  title: 'Sheet',
  group: 'sheet',
  explanation: 'A flat rectangular sheet or strip; both faces and the half-round rim count.',
  // Two sides to half a millimetre of 20, and a cut edge that is rough rather than round.
  areaUncertainty: 0.05,
  fields: [
    lengthField(
      'lengthMm',
      'Length',
      [0.1, 40, 10_000],
      'Measure the longer side from rim to rim.',
    ),
    lengthField('widthMm', 'Width', [0.1, 20, 10_000], 'Measure the shorter side from rim to rim.'),
    sheetThicknessField,
  ],
  problems,
  growth(shape) {
    const thickness = sizeOf(shape, 'thicknessMm');
    const length = sizeOf(shape, 'lengthMm') - thickness;
    const width = sizeOf(shape, 'widthMm') - thickness;
    return rimmedGrowth(length * width, 2 * (length + width), thickness);
  },
  crossSection: (shape) => ({ shape: 'flat', thicknessMm: sizeOf(shape, 'thicknessMm') }),
  dimensions: (shape) => [
    dimension('lengthMm', 'Length', sizeOf(shape, 'lengthMm')),
    dimension('widthMm', 'Width', sizeOf(shape, 'widthMm')),
    dimension('thicknessMm', 'Thickness', sizeOf(shape, 'thicknessMm')),
  ],
  drawing(shape) {
    const length = sizeOf(shape, 'lengthMm');
    const width = sizeOf(shape, 'widthMm');
    const [x, y] = [length / 2, width / 2];
    return drawingOf(
      rectangle('metal', length, width),
      measure('lengthMm', point(-x, -y), point(x, -y)),
      measure('widthMm', point(x, -y), point(x, y)),
    );
  },
};
