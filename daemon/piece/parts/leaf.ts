/** A leaf: a thin flat outline, pointed or blunt at both ends. */

import { dimension } from '../geometry/dimensions.ts';
import { drawingOf, measure, point, polygon } from '../geometry/drawing.ts';
import { leafPoints } from '../geometry/leaf.ts';
import { perimeterMm } from '../geometry/polygon.ts';
import { lengthField, sheetThicknessField, sizeOf, sizeProblem } from '../geometry/sizes.ts';
import { rimmedGrowth } from '../growth.ts';
import type { PartDefinition, PartShape, Problem } from '../model.ts';

// Points along one side of a drawing.
const pointsDrawn = 40;

function problems(shape: PartShape): readonly Problem[] {
  const thickness = sizeOf(shape, 'thicknessMm');
  const most = Math.min(sizeOf(shape, 'lengthMm'), sizeOf(shape, 'widthMm')) / 2;
  if (thickness <= most) {
    return [];
  }
  const bound = `at most half its narrower side, ${most}`;
  return [sizeProblem('thicknessMm', thickness, bound, 'Enter a thick one as an ellipsoid.')];
}

/**
 * A sheet with a half-round rim whose face, inside the rim, fills the given share of its rectangle
 * exactly; its rim runs along the curve of `leafPoints` with that share. A lens of two parabolas
 * fills 2 / 3, an ellipse pi / 4.
 */
export const leafPart: PartDefinition = {
  kind: 'leaf',
  title: 'Leaf',
  group: 'sheet',
  explanation: 'A thin leaf or petal; both faces and its rim count, its veins and teeth do not.',
  // The shape is judged by eye to a tenth, and veins and teeth add surface; trace it to know better.
  areaUncertainty: 0.15,
  fields: [
    lengthField('lengthMm', 'Length', [0.5, 40, 1_000], 'Measure from tip to stalk.'),
    lengthField('widthMm', 'Width', [0.2, 18, 1_000], 'Measure across its widest place.'),
    { ...sheetThicknessField, typical: 0.3 },
    {
      name: 'fullnessShare',
      label: 'Fullness',
      unit: 'share',
      min: 0.5,
      max: 0.88,
      typical: 0.667,
      help: 'Enter its area over length times width: a lance 0.59, a lens 0.67, an oval 0.79.',
    },
  ],
  problems,
  growth(shape) {
    const thickness = sizeOf(shape, 'thicknessMm');
    const length = sizeOf(shape, 'lengthMm') - thickness;
    const width = sizeOf(shape, 'widthMm') - thickness;
    const fullness = sizeOf(shape, 'fullnessShare');
    const rimMm = perimeterMm(leafPoints(length, width, fullness));
    return rimmedGrowth(fullness * length * width, rimMm, thickness);
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
    const outline = leafPoints(length, width, sizeOf(shape, 'fullnessShare'), pointsDrawn);
    return drawingOf(
      polygon('metal', outline),
      measure('lengthMm', point(-length / 2, 0), point(length / 2, 0)),
      measure('widthMm', point(0, -width / 2), point(0, width / 2)),
    );
  },
};
