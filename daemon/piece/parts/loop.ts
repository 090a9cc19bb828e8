/** A closed ring of round wire. */

import { dimension, opening } from '../geometry/dimensions.ts';
import { circle, drawingOf, measure, point } from '../geometry/drawing.ts';
import { lengthField, sizeOf, wireDiameterField } from '../geometry/sizes.ts';
import type { PartDefinition, PartShape } from '../model.ts';

function radii(shape: PartShape): { readonly inside: number; readonly wire: number } {
  return {
    inside: sizeOf(shape, 'insideDiameterMm') / 2,
    wire: sizeOf(shape, 'wireDiameterMm') / 2,
  };
}

/** A torus of mid-line radius R and wire radius r: 4 pi^2 R r, 2 pi^2 R, 0. */
export const loopPart: PartDefinition = {
  kind: 'loop',
  title: 'Loop',
  group: 'wire',
  explanation: 'A closed ring of round wire; its whole surface counts, inside and outside.',
  // A caliper reads 0.02 to 0.04 mm of 0.8, paint included.
  areaUncertainty: 0.05,
  fields: [
    lengthField(
      'insideDiameterMm',
      'Inside diameter',
      [0.2, 17, 3_000],
      'Measure the clear opening of the ring, from wire to wire, before any metal grows.',
    ),
    wireDiameterField,
  ],
  problems: () => [],
  growth(shape) {
    const { inside, wire } = radii(shape);
    const ringRadius = inside + wire;
    return {
      areaMm2: 4 * Math.PI ** 2 * ringRadius * wire,
      meanCurvatureMm: 2 * Math.PI ** 2 * ringRadius,
      gaussThird: 0,
    };
  },
  crossSection: (shape) => ({ shape: 'round', diameterMm: sizeOf(shape, 'wireDiameterMm') }),
  dimensions(shape) {
    const { inside, wire } = radii(shape);
    return [
      opening('insideDiameterMm', 'Inside diameter', 2 * inside),
      dimension('outsideDiameterMm', 'Outside diameter', 2 * inside + 4 * wire),
      dimension('wireDiameterMm', 'Wire diameter', 2 * wire),
    ];
  },
  drawing(shape) {
    const { inside, wire } = radii(shape);
    return drawingOf(
      circle('metal', inside + 2 * wire),
      circle('metal', inside),
      measure('insideDiameterMm', point(-inside, 0), point(inside, 0)),
      measure('wireDiameterMm', point(inside, 0), point(inside + 2 * wire, 0)),
    );
  },
};
