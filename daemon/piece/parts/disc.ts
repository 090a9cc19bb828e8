/** A flat round disc, with or without a hole in its middle. */

import { dimension, opening } from '../geometry/dimensions.ts';
import { circle, drawingOf, measure, point } from '../geometry/drawing.ts';
import { arc, line, revolvedGrowth } from '../geometry/revolution.ts';
import { lengthField, sheetThicknessField, sizeOf, sizeProblem } from '../geometry/sizes.ts';
import { rimmedGrowth } from '../growth.ts';
import type { PartDefinition, PartShape, Problem } from '../model.ts';

interface Disc {
  readonly outside: number;
  readonly hole: number;
  readonly rim: number;
}

function discOf(shape: PartShape): Disc {
  return {
    outside: sizeOf(shape, 'diameterMm') / 2,
    hole: sizeOf(shape, 'holeDiameterMm') / 2,
    rim: sizeOf(shape, 'thicknessMm') / 2,
  };
}

function problems(shape: PartShape): readonly Problem[] {
  const { outside, hole, rim } = discOf(shape);
  if (hole >= outside) {
    const bound = `below diameterMm, ${2 * outside}`;
    return [sizeProblem('holeDiameterMm', 2 * hole, bound, 'The hole is wider than the disc.')];
  }
  // What is left of the face beside the hole, from rim to rim.
  const face = hole > 0 ? outside - hole : 2 * outside;
  if (2 * rim <= face) {
    return [];
  }
  const advice = 'Enter a thick one as a rod, or as a tube where it has a hole.';
  return [sizeProblem('thicknessMm', 2 * rim, `at most the width of its face, ${face}`, advice)];
}

/** A round sheet with half-round rims, outside and in the hole; sizes are taken over the rims. */
export const discPart: PartDefinition = {
  kind: 'disc',
  title: 'Disc',
  group: 'sheet',
  explanation: 'A flat round disc or washer; both faces, the rim and the hole count.',
  // Two caliper readings, and a cut edge that is rough rather than round.
  areaUncertainty: 0.05,
  fields: [
    lengthField('diameterMm', 'Diameter', [0.2, 20, 3_000], 'Measure from rim to rim.'),
    sheetThicknessField,
    lengthField(
      'holeDiameterMm',
      'Hole',
      [0, 0, 3_000],
      'Measure the hole in its middle; 0 where there is none.',
    ),
  ],
  problems,
  growth(shape) {
    const { outside, hole, rim } = discOf(shape);
    if (hole === 0) {
      const face = outside - rim;
      return rimmedGrowth(Math.PI * face ** 2, 2 * Math.PI * face, 2 * rim);
    }
    const [inner, outer] = [hole + rim, outside - rim];
    return revolvedGrowth(
      [
        line(inner, -rim, outer, -rim),
        arc(outer, rim, -Math.PI / 2, Math.PI / 2),
        line(outer, rim, inner, rim),
        arc(inner, rim, Math.PI / 2, (3 * Math.PI) / 2),
      ],
      'ring',
    );
  },
  crossSection: (shape) => ({ shape: 'flat', thicknessMm: sizeOf(shape, 'thicknessMm') }),
  dimensions(shape) {
    const { outside, hole, rim } = discOf(shape);
    return [
      dimension('diameterMm', 'Diameter', 2 * outside),
      dimension('thicknessMm', 'Thickness', 2 * rim),
      ...(hole > 0 ? [opening('holeDiameterMm', 'Hole', 2 * hole)] : []),
    ];
  },
  drawing(shape) {
    const { outside, hole } = discOf(shape);
    return drawingOf(
      circle('metal', outside),
      ...(hole > 0 ? [circle('metal', hole)] : []),
      measure('diameterMm', point(-outside, 0), point(outside, 0)),
    );
  },
};
