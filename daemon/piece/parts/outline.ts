/** A flat shape traced from a picture. */

import { dimension } from '../geometry/dimensions.ts';
import { drawingOf, polygon } from '../geometry/drawing.ts';
import { outlineProblems } from '../geometry/outline-problems.ts';
import { extentMm, perimeterMm, signedAreaMm2, weighedTurning } from '../geometry/polygon.ts';
import { sheetThicknessField, sizeOf, sizeProblem } from '../geometry/sizes.ts';
import { rimmedGrowth, scaleGrowth } from '../growth.ts';
import type { PartDefinition, PartShape, Point, Problem } from '../model.ts';

function pointsOf({ outline }: PartShape): readonly Point[] {
  if (outline === undefined) {
    throw new RangeError('outline is missing; it must be a closed polygon');
  }
  return outline.points;
}

function hasBothFaces(shape: PartShape): boolean {
  return sizeOf(shape, 'faces') === 2;
}

interface Face {
  readonly areaMm2: number;
  readonly perimeterMm: number;
  readonly rim: number;
}

/**
 * The flat face inside the half-round rim: the polygon moved inwards by half the thickness, as for a
 * smooth outline of the same area and perimeter.
 */
function faceOf(shape: PartShape): Face {
  const points = pointsOf(shape);
  const rim = sizeOf(shape, 'thicknessMm') / 2;
  const around = perimeterMm(points);
  return {
    areaMm2: Math.abs(signedAreaMm2(points)) - around * rim + Math.PI * rim ** 2,
    perimeterMm: around - 2 * Math.PI * rim,
    rim,
  };
}

function problems(shape: PartShape): readonly Problem[] {
  const found = outlineProblems(shape.outline);
  if (found.length > 0) {
    return found;
  }
  const face = faceOf(shape);
  if (face.areaMm2 > 0 && face.perimeterMm > 0) {
    return [];
  }
  const points = pointsOf(shape);
  const most = Math.abs(signedAreaMm2(points)) / perimeterMm(points);
  const bound = `at most about twice its area over its perimeter, ${(2 * most).toPrecision(3)}`;
  const advice = 'The rims of both sides would meet; enter a thinner sheet.';
  return [sizeProblem('thicknessMm', 2 * face.rim, bound, advice)];
}

/**
 * A sheet with a half-round rim round the traced polygon, exact but for the inner corners of its
 * rim, whose mitres count. With one face only, the half of it above the middle of the rim counts:
 * half of every term.
 */
export const outlinePart: PartDefinition = {
  kind: 'outline',
  title: 'Traced outline',
  group: 'sheet',
  explanation: 'A flat shape traced from a picture; its faces and its rim count.',
  // Clicks fall within half a millimetre, and a picture taken at a slant stretches one side.
  areaUncertainty: 0.1,
  fields: [
    sheetThicknessField,
    {
      name: 'faces',
      label: 'Faces',
      unit: 'count',
      min: 1,
      max: 2,
      typical: 2,
      help: 'Choose whether metal reaches both faces, or one and half the rim.',
      choices: [
        { value: 2, label: 'Both faces' },
        { value: 1, label: 'One face' },
      ],
    },
  ],
  problems,
  growth(shape) {
    const { areaMm2, perimeterMm: around, rim } = faceOf(shape);
    const turning = weighedTurning(pointsOf(shape));
    const both = rimmedGrowth(areaMm2, around, 2 * rim, turning);
    return hasBothFaces(shape) ? both : scaleGrowth(both, 0.5);
  },
  crossSection: (shape) => ({ shape: 'flat', thicknessMm: sizeOf(shape, 'thicknessMm') }),
  dimensions(shape) {
    const { widthMm, heightMm } = extentMm(pointsOf(shape));
    const thickness = sizeOf(shape, 'thicknessMm');
    return [
      dimension('outlineWidthMm', 'Width of the outline', widthMm),
      dimension('outlineHeightMm', 'Height of the outline', heightMm),
      dimension('thicknessMm', 'Thickness', thickness, hasBothFaces(shape) ? 2 : 1),
    ];
  },
  drawing: (shape) => drawingOf(polygon('metal', pointsOf(shape))),
};
