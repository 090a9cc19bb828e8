/** A closed ring of half-round strip, flat side in. */

import { dimension, opening } from '../geometry/dimensions.ts';
import { arcPoints, circle, drawingOf, measure, point, polygon } from '../geometry/drawing.ts';
import { arc, line, revolvedGrowth } from '../geometry/revolution.ts';
import { lengthField, sizeOf, sizeProblem } from '../geometry/sizes.ts';
import type { PartDefinition, PartShape, Problem } from '../model.ts';

interface Profile {
  readonly inside: number;
  readonly width: number;
  readonly height: number;
  /** Radius of the round side, and half the angle of its arc in radians. */
  readonly round: number;
  readonly half: number;
}

function profileOf(shape: PartShape): Profile {
  const width = sizeOf(shape, 'widthMm');
  const height = sizeOf(shape, 'heightMm');
  const round = (width ** 2 / 4 + height ** 2) / (2 * height);
  return {
    inside: sizeOf(shape, 'insideDiameterMm') / 2,
    width,
    height,
    round,
    half: Math.atan2(width / 2, round - height),
  };
}

function problems(shape: PartShape): readonly Problem[] {
  const height = sizeOf(shape, 'heightMm');
  const most = sizeOf(shape, 'widthMm') / 2;
  if (height <= most) {
    return [];
  }
  const advice = 'Half-round strip is at most half as high as it is wide.';
  return [sizeProblem('heightMm', height, `at most half of widthMm, ${most}`, advice)];
}

/** A segment of a circle turned about the axis, its flat side towards the axis (Pappus). */
export const halfRoundBandPart: PartDefinition = {
  kind: 'half-round-band',
  title: 'Half-round band',
  group: 'wire',
  explanation: 'A closed ring of half-round strip, flat inside; all of its surface counts.',
  // Caliper readings to 1 or 2 %, and a round side that is seldom a true arc.
  areaUncertainty: 0.06,
  fields: [
    lengthField(
      'insideDiameterMm',
      'Inside diameter',
      [0.2, 17, 3_000],
      'Measure the clear opening of the ring before any metal grows.',
    ),
    lengthField('widthMm', 'Width', [0.1, 4, 100], 'Measure across the flat side.'),
    lengthField(
      'heightMm',
      'Height',
      [0.05, 1.5, 50],
      'Measure from the flat side to the highest point of the round side.',
    ),
  ],
  problems,
  growth(shape) {
    const { inside, width, height, round, half } = profileOf(shape);
    return revolvedGrowth(
      [
        line(inside, width / 2, inside, -width / 2),
        arc(inside + height - round, round, -half, half),
      ],
      'ring',
    );
  },
  crossSection: (shape) => ({
    shape: 'rectangle',
    widthMm: sizeOf(shape, 'widthMm'),
    heightMm: sizeOf(shape, 'heightMm'),
  }),
  dimensions(shape) {
    const { inside, width, height } = profileOf(shape);
    return [
      opening('insideDiameterMm', 'Inside diameter', 2 * inside),
      dimension('outsideDiameterMm', 'Outside diameter', 2 * (inside + height)),
      dimension('widthMm', 'Width', width),
      dimension('heightMm', 'Height', height),
    ];
  },
  // Along the finger, and beside it the strip cut through.
  drawing(shape) {
    const { inside, width, height, round, half } = profileOf(shape);
    const outside = inside + height;
    const x = outside + width;
    const degrees = (half * 180) / Math.PI;
    const cut = arcPoints(round, -90 - degrees, -90 + degrees, point(x, round - height));
    return drawingOf(
      circle('metal', outside),
      circle('metal', inside),
      polygon('metal', cut),
      measure('insideDiameterMm', point(-inside, 0), point(inside, 0)),
      measure('widthMm', point(x - width / 2, 0), point(x + width / 2, 0)),
      measure('heightMm', point(x, 0), point(x, -height)),
    );
  },
};
