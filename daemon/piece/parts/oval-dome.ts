/** An oval dome: the upper half of an ellipsoid. */

import { baseField, countsBase } from '../geometry/choices.ts';
import { dimension } from '../geometry/dimensions.ts';
import { arcPoints, drawingOf, ellipse, measure, point, polyline } from '../geometry/drawing.ts';
import { ellipsoidGrowth, ellipsePerimeterMm } from '../geometry/elliptic.ts';
import { lengthField, sizeOf } from '../geometry/sizes.ts';
import { addGrowth, scaleGrowth } from '../growth.ts';
import type { PartDefinition, PartShape } from '../model.ts';

function halfAxes(shape: PartShape): readonly [number, number, number] {
  return [sizeOf(shape, 'lengthMm') / 2, sizeOf(shape, 'widthMm') / 2, sizeOf(shape, 'heightMm')];
}

/**
 * Half an ellipsoid, cut where its sides stand upright: half of every term. A base that counts adds
 * its ellipse, the right angle of its rim of perimeter P, pi P / 4, and the lower half of all
 * directions, 2 pi / 3.
 */
export const ovalDomePart: PartDefinition = {
  kind: 'oval-dome',
  title: 'Oval dome',
  group: 'solid',
  explanation: 'An oval dome like a cabochon; its curved side counts, its base if you say so.',
  // Three caliper readings, and a side that is seldom a true ellipsoid.
  areaUncertainty: 0.08,
  fields: [
    lengthField('lengthMm', 'Length', [0.2, 14, 1_000], 'Measure the longer way of the base.'),
    lengthField('widthMm', 'Width', [0.2, 10, 1_000], 'Measure the shorter way of the base.'),
    lengthField('heightMm', 'Height', [0.05, 4, 1_000], 'Measure from the base to the top.'),
    { ...baseField, typical: 0 },
  ],
  problems: () => [],
  growth(shape) {
    const [a, b, height] = halfAxes(shape);
    const side = scaleGrowth(ellipsoidGrowth(a, b, height), 0.5);
    return countsBase(shape)
      ? addGrowth(side, {
          areaMm2: Math.PI * a * b,
          meanCurvatureMm: (Math.PI * ellipsePerimeterMm(a, b)) / 4,
          gaussThird: (2 * Math.PI) / 3,
        })
      : side;
  },
  crossSection: (shape) => ({
    shape: 'rectangle',
    widthMm: sizeOf(shape, 'widthMm'),
    heightMm: sizeOf(shape, 'heightMm'),
  }),
  dimensions: (shape) => [
    dimension('lengthMm', 'Length', sizeOf(shape, 'lengthMm')),
    dimension('widthMm', 'Width', sizeOf(shape, 'widthMm')),
    dimension('heightMm', 'Height', sizeOf(shape, 'heightMm'), countsBase(shape) ? 2 : 1),
  ],
  // From above, and below it from the side.
  drawing(shape) {
    const [x, y, height] = halfAxes(shape);
    const foot = y + 1.3 * height;
    const side = arcPoints(1, 180, 360).map(({ xMm, yMm }) => point(xMm * x, foot + yMm * height));
    return drawingOf(
      ellipse('metal', x, y),
      polyline('metal', side),
      polyline(countsBase(shape) ? 'metal' : 'hidden', [point(-x, foot), point(x, foot)]),
      measure('lengthMm', point(-x, 0), point(x, 0)),
      measure('widthMm', point(0, -y), point(0, y)),
      measure('heightMm', point(0, foot), point(0, foot - height)),
    );
  },
};
