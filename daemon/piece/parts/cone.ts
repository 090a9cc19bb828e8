/** A round cone. */

import { baseField, countsBase } from '../geometry/choices.ts';
import { dimension } from '../geometry/dimensions.ts';
import { drawingOf, measure, point, polyline } from '../geometry/drawing.ts';
import { line, revolvedGrowth } from '../geometry/revolution.ts';
import { lengthField, sizeOf } from '../geometry/sizes.ts';
import type { PartDefinition } from '../model.ts';

/**
 * A cone of base radius a, height h and slant s: its side alone is pi a s, pi h, 2 pi (1 - a / s) / 3;
 * what grows over the edge of a hidden base is left out. With its base it is a solid of revolution.
 */
export const conePart: PartDefinition = {
  kind: 'cone',
  title: 'Cone',
  group: 'solid',
  explanation: 'A round cone; its side counts, and its base unless it is hidden.',
  // Two caliper readings, and a tip that is never sharp.
  areaUncertainty: 0.06,
  fields: [
    lengthField('diameterMm', 'Diameter', [0.1, 8, 1_000], 'Measure across the base.'),
    lengthField(
      'heightMm',
      'Height',
      [0.1, 15, 1_000],
      'Measure upright from the base to the tip, not along the side.',
    ),
    baseField,
  ],
  problems: () => [],
  growth(shape) {
    const base = sizeOf(shape, 'diameterMm') / 2;
    const height = sizeOf(shape, 'heightMm');
    const slant = Math.hypot(base, height);
    return countsBase(shape)
      ? revolvedGrowth([line(0, 0, base, 0), line(base, 0, 0, height)], 'solid')
      : {
          areaMm2: Math.PI * base * slant,
          meanCurvatureMm: Math.PI * height,
          gaussThird: (2 * Math.PI * (1 - base / slant)) / 3,
        };
  },
  crossSection: (shape) => ({ shape: 'round', diameterMm: sizeOf(shape, 'diameterMm') }),
  dimensions: (shape) => [
    dimension('heightMm', 'Height', sizeOf(shape, 'heightMm'), countsBase(shape) ? 2 : 1),
  ],
  drawing(shape) {
    const base = sizeOf(shape, 'diameterMm') / 2;
    const height = sizeOf(shape, 'heightMm');
    return drawingOf(
      polyline('metal', [point(-base, 0), point(0, -height), point(base, 0)]),
      polyline(countsBase(shape) ? 'metal' : 'hidden', [point(-base, 0), point(base, 0)]),
      measure('diameterMm', point(-base, 0), point(base, 0)),
      measure('heightMm', point(0, 0), point(0, -height)),
    );
  },
};
