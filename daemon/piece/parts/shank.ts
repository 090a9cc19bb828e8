/** An open ring of round wire. */

import { dimension, opening } from '../geometry/dimensions.ts';
import { arcPoints, drawingOf, measure, point, polygon } from '../geometry/drawing.ts';
import { lengthField, sizeOf, sizeProblem, wireDiameterField } from '../geometry/sizes.ts';
import { wireWithEndsGrowth } from '../growth.ts';
import type { PartDefinition, PartShape, Problem } from '../model.ts';

interface Shank {
  readonly inside: number;
  readonly wire: number;
  /** Half the angle of the opening at the middle of the ring, in radians. */
  readonly half: number;
}

// Widest gap that still leaves a ring, as a share of the inside diameter.
const widestGap = 0.9;

function shankOf(shape: PartShape): Shank {
  const inside = sizeOf(shape, 'insideDiameterMm') / 2;
  return {
    inside,
    wire: sizeOf(shape, 'wireDiameterMm') / 2,
    half: Math.asin(sizeOf(shape, 'gapMm') / (2 * inside)),
  };
}

function problems(shape: PartShape): readonly Problem[] {
  const gap = sizeOf(shape, 'gapMm');
  const inside = sizeOf(shape, 'insideDiameterMm');
  if (gap <= widestGap * inside) {
    return [];
  }
  const advice = 'A half ring or less is a bent wire; enter it as a wire.';
  return [sizeProblem('gapMm', gap, `at most nine tenths of insideDiameterMm, ${inside}`, advice)];
}

/**
 * A torus less the angle of its opening, with two flat ends: the offset of bent wire is that of
 * straight wire of its mid-line's length (Pappus), and the ends are those of a cylinder. The ends
 * face each other across planes through the axis, so they meet first at the inside.
 */
export const shankPart: PartDefinition = {
  kind: 'shank',
  title: 'Open shank',
  group: 'wire',
  explanation: 'A ring of round wire with a gap; its side and its two cut ends count.',
  // A caliper reads 0.02 to 0.04 mm of 0.8, and ends are filed, not flat.
  areaUncertainty: 0.06,
  fields: [
    lengthField(
      'insideDiameterMm',
      'Inside diameter',
      [0.5, 17, 3_000],
      'Measure the clear opening of the ring, from wire to wire, before any metal grows.',
    ),
    wireDiameterField,
    lengthField(
      'gapMm',
      'Gap',
      [0.05, 3, 1_000],
      'Measure between the two ends where they are closest, on the inside of the ring.',
    ),
  ],
  problems,
  growth(shape) {
    const { inside, wire, half } = shankOf(shape);
    return wireWithEndsGrowth(2 * wire, 2 * (Math.PI - half) * (inside + wire));
  },
  crossSection: (shape) => ({ shape: 'round', diameterMm: sizeOf(shape, 'wireDiameterMm') }),
  dimensions(shape) {
    const { inside, wire } = shankOf(shape);
    return [
      opening('insideDiameterMm', 'Inside diameter', 2 * inside),
      dimension('outsideDiameterMm', 'Outside diameter', 2 * inside + 4 * wire),
      dimension('wireDiameterMm', 'Wire diameter', 2 * wire),
      opening('gapMm', 'Gap', sizeOf(shape, 'gapMm')),
    ];
  },
  // The gap is at the top.
  drawing(shape) {
    const { inside, wire, half } = shankOf(shape);
    const degrees = (half * 180) / Math.PI;
    const arc = (radius: number) => arcPoints(radius, -90 + degrees, 270 - degrees);
    const x = inside * Math.sin(half);
    const y = -inside * Math.cos(half);
    return drawingOf(
      polygon('metal', [...arc(inside + 2 * wire), ...arc(inside).toReversed()]),
      measure('gapMm', point(-x, y), point(x, y)),
      measure('insideDiameterMm', point(-inside, 0), point(inside, 0)),
    );
  },
};
