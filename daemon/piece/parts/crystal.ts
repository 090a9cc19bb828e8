/** A crystal point: a prism of many sides with a pyramid on it, or a pyramid alone. */

import { baseField, countsBase } from '../geometry/choices.ts';
import { dimension } from '../geometry/dimensions.ts';
import { drawingOf, measure, point, polygon, polyline } from '../geometry/drawing.ts';
import { lengthField, sizeOf } from '../geometry/sizes.ts';
import type { Growth, PartDefinition, PartShape } from '../model.ts';

interface Crystal {
  readonly sides: number;
  /** From the middle to a flat, and to a corner. */
  readonly flat: number;
  readonly corner: number;
  /** Length of one side of its base. */
  readonly side: number;
  readonly prism: number;
  readonly point: number;
}

function crystalOf(shape: PartShape): Crystal {
  const sides = sizeOf(shape, 'sides');
  const flat = sizeOf(shape, 'acrossFlatsMm') / 2;
  return {
    sides,
    flat,
    corner: flat / Math.cos(Math.PI / sides),
    side: 2 * flat * Math.tan(Math.PI / sides),
    prism: sizeOf(shape, 'prismLengthMm'),
    point: sizeOf(shape, 'pointHeightMm'),
  };
}

/** Half the sum of every edge's length times the angle its normal turns (Steiner). */
function growthOf(crystal: Crystal, base: boolean): Growth {
  const { sides, flat, corner, side, prism } = crystal;
  const slant = Math.hypot(flat, crystal.point);
  // How far the faces of the point lean back from upright.
  const lean = Math.atan2(flat, crystal.point);
  const around = (2 * Math.PI) / sides;
  const ridge = Math.acos(Math.cos(lean) ** 2 * Math.cos(around) + Math.sin(lean) ** 2);
  const baseArea = (sides * side * flat) / 2;
  const edges =
    sides * prism * around +
    sides * Math.hypot(corner, crystal.point) * ridge +
    // The shoulder; where there is no prism the rim of the base turns by it and a right angle.
    (prism > 0 || base ? sides * side * lean : 0) +
    (base ? (sides * side * Math.PI) / 2 : 0);
  // What is missing to a full turn round the tip; with a prism the shoulder makes up the upper half.
  const tip = 2 * Math.PI - 2 * sides * Math.atan2(side / 2, slant);
  const directions = base ? 4 * Math.PI : prism > 0 ? 2 * Math.PI : tip;
  return {
    areaMm2: sides * side * prism + (sides * side * slant) / 2 + (base ? baseArea : 0),
    meanCurvatureMm: edges / 2,
    gaussThird: directions / 3,
  };
}

/** An upright prism on a regular base with a straight pyramid; a prism of 0 is a pyramid. */
export const crystalPart: PartDefinition = {
  kind: 'crystal',
  title: 'Crystal point',
  group: 'solid',
  explanation: 'A prism with a point, or a pyramid; its faces count, and its base unless hidden.',
  // Natural faces are uneven: widths differ by a tenth and points sit off the middle.
  areaUncertainty: 0.12,
  fields: [
    {
      name: 'sides',
      label: 'Sides',
      unit: 'count',
      min: 3,
      max: 24,
      typical: 6,
      help: 'Count the faces round it; quartz has 6, a square pyramid 4.',
    },
    lengthField(
      'acrossFlatsMm',
      'Across flats',
      [0.2, 10, 1_000],
      'Measure from face to opposite face; with an odd number, twice from the middle to a face.',
    ),
    lengthField(
      'prismLengthMm',
      'Length of the straight part',
      [0, 20, 1_000],
      'Measure from the base to where the point begins; 0 for a pyramid.',
    ),
    lengthField(
      'pointHeightMm',
      'Height of the point',
      [0.1, 8, 1_000],
      'Measure along the middle from where the point begins to its tip.',
    ),
    baseField,
  ],
  problems: () => [],
  growth: (shape) => growthOf(crystalOf(shape), countsBase(shape)),
  crossSection: (shape) => ({ shape: 'round', diameterMm: sizeOf(shape, 'acrossFlatsMm') }),
  dimensions(shape) {
    const { flat, prism, point: height } = crystalOf(shape);
    const ends = countsBase(shape) ? 2 : 1;
    return [
      // A flat grows by the thickness on either side; a pyramid has no upright flats.
      ...(prism > 0 ? [dimension('acrossFlatsMm', 'Across flats', 2 * flat)] : []),
      dimension('lengthMm', 'Length', prism + height, ends),
    ];
  },
  // From the side, a face to the front.
  drawing(shape) {
    const { side, flat, corner, sides, prism, point: height } = crystalOf(shape);
    const wide = sides % 2 === 0 ? (sides % 4 === 0 ? flat : corner) : corner;
    const top = -prism - height;
    const base = countsBase(shape) ? 'metal' : 'hidden';
    return drawingOf(
      polygon('metal', [
        point(-wide, 0),
        point(-wide, -prism),
        point(0, top),
        point(wide, -prism),
        point(wide, 0),
      ]),
      polyline('metal', [point(-side / 2, 0), point(-side / 2, -prism), point(0, top)]),
      polyline('metal', [point(side / 2, 0), point(side / 2, -prism), point(0, top)]),
      polyline('metal', [point(-wide, -prism), point(wide, -prism)]),
      polyline(base, [point(-wide, 0), point(wide, 0)]),
      measure('prismLengthMm', point(wide, 0), point(wide, -prism)),
      measure('pointHeightMm', point(wide, -prism), point(wide, top)),
    );
  },
};
