/** A rim of strip round a stone of any convex outline. */

import type {
  Dimension,
  Drawing,
  Growth,
  PartDefinition,
  PartField,
  PartShape,
  Point,
} from '../model.ts';
import type { Curve } from './curves.ts';
import { dimension, opening } from './dimensions.ts';
import { drawingOf, measure, point, polygon } from './drawing.ts';
import { lengthField, sizeOf } from './sizes.ts';

const rimFields: readonly PartField[] = [
  lengthField(
    'heightMm',
    'Height of the rim',
    [0.1, 3, 200],
    'Measure the rim upright, from what it stands on to its upper edge.',
  ),
  lengthField(
    'wallMm',
    'Wall',
    [0.005, 0.4, 20],
    'Measure how thick the strip or the painted rim is.',
  ),
  {
    name: 'inside',
    label: 'Inside',
    unit: 'count',
    min: 0,
    max: 1,
    typical: 0,
    help: 'Choose whether the stone sits in the rim, or whether the rim is still empty.',
    choices: [
      { value: 0, label: 'Stone in place' },
      { value: 1, label: 'Empty' },
    ],
  },
];

function isEmpty(shape: PartShape): boolean {
  return sizeOf(shape, 'inside') === 1;
}

/**
 * Outside of height h round a perimeter P: P h, pi h, 0; its upper edge of width w turns by a right
 * angle into the top: pi P / 4 and, the edge being round once about, 2 pi / 3. The top is the ring
 * between both curves. The inside of an empty rim is the same with its turning reversed. Its lower
 * edge stands on something and is left out, and so is what creeps over the stone.
 */
function growthOf(curve: Curve, shape: PartShape): Growth {
  const height = sizeOf(shape, 'heightMm');
  const wall = sizeOf(shape, 'wallMm');
  const outside = curve.perimeterMm + 2 * Math.PI * wall;
  const top = curve.perimeterMm * wall + Math.PI * wall ** 2;
  const rim = {
    areaMm2: outside * height + top,
    meanCurvatureMm: Math.PI * height + (Math.PI * outside) / 4,
    gaussThird: (2 * Math.PI) / 3,
  };
  if (!isEmpty(shape)) {
    return rim;
  }
  const { perimeterMm, insideTurning } = curve;
  return {
    areaMm2: rim.areaMm2 + perimeterMm * height,
    meanCurvatureMm:
      rim.meanCurvatureMm - (insideTurning * height) / 2 + (Math.PI * perimeterMm) / 4,
    gaussThird: rim.gaussThird - insideTurning / 3,
  };
}

function dimensionsOf(curve: Curve, shape: PartShape): readonly Dimension[] {
  const wall = sizeOf(shape, 'wallMm');
  const empty = isEmpty(shape);
  return [
    dimension('outsideLengthMm', 'Outside length', curve.lengthMm + 2 * wall),
    dimension('outsideWidthMm', 'Outside width', curve.widthMm + 2 * wall),
    dimension('wallMm', 'Wall', wall, empty ? 2 : 1),
    dimension('heightMm', 'Height of the rim', sizeOf(shape, 'heightMm'), 1),
    ...(empty ? [opening('seatWidthMm', 'Width of the seat', curve.widthMm)] : []),
  ];
}

/** The curve moved outwards by the wall, its corners rounded by one point. */
function outsidePoints(points: readonly Point[], wall: number): readonly Point[] {
  const normals = points.map((here, index) => {
    const next = points[(index + 1) % points.length] ?? here;
    const [x, y] = [next.yMm - here.yMm, here.xMm - next.xMm];
    const length = Math.hypot(x, y);
    return length > 0 ? ([x / length, y / length] as const) : null;
  });
  const count = points.length;
  return points.flatMap(({ xMm, yMm }, index) => {
    const before = normals[(index + count - 1) % count];
    const after = normals[index];
    if (!before || !after) {
      return [];
    }
    const [x, y] = [before[0] + after[0], before[1] + after[1]];
    const length = Math.hypot(x, y);
    const middle = [x / length, y / length] as const;
    return [before, middle, after].map(([outX, outY]) =>
      point(xMm + wall * outX, yMm + wall * outY),
    );
  });
}

/** From above; the stone is drawn where it sits. */
function drawingOfRim(curve: Curve, shape: PartShape, [along, across]: Stone['measured']): Drawing {
  const wall = sizeOf(shape, 'wallMm');
  const { points, lengthMm, widthMm } = curve;
  const left = points.reduce((least, { xMm }) => Math.min(least, xMm), Number.POSITIVE_INFINITY);
  return drawingOf(
    polygon('metal', outsidePoints(points, wall)),
    polygon(isEmpty(shape) ? 'metal' : 'core', points),
    measure(along, point(left, 0), point(left + lengthMm, 0)),
    measure(across, point(0, -widthMm / 2), point(0, widthMm / 2)),
  );
}

/** What differs between rims. */
type Stone = Pick<PartDefinition, 'kind' | 'title' | 'explanation' | 'fields' | 'problems'> & {
  readonly curve: (shape: PartShape) => Curve;
  /** Names of the sizes that run along and across the stone. */
  readonly measured: readonly [along: string, across: string];
};

/** A rim round a stone of that outline. */
export function bezelPart({ curve, fields, measured, ...stone }: Stone): PartDefinition {
  return {
    ...stone,
    group: 'setting',
    // A rim is often painted on by hand, and its height wanders by a tenth or two.
    areaUncertainty: 0.15,
    fields: [...fields, ...rimFields],
    growth: (shape) => growthOf(curve(shape), shape),
    crossSection: (shape) => ({
      shape: 'rectangle',
      widthMm: sizeOf(shape, 'heightMm'),
      heightMm: sizeOf(shape, 'wallMm'),
    }),
    dimensions: (shape) => dimensionsOf(curve(shape), shape),
    drawing: (shape) => drawingOfRim(curve(shape), shape, measured),
  };
}
