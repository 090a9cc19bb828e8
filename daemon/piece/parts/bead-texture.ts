/** Beads or grains set all over a surface. */

import { opening } from '../geometry/dimensions.ts';
import { circle, drawingOf, measure, point, rectangle } from '../geometry/drawing.ts';
import { lengthField, sizeOf, sizeProblem } from '../geometry/sizes.ts';
import type { PartDefinition, PartShape, Problem } from '../model.ts';

// Area a half ball adds over the circle it stands on, and a whole ball touching the base, both in
// that circle's area.
const halfBallAdds = 1;
const wholeBallAdds = 4;

// Beads drawn on a small square of the base.
const rowsDrawn = 5;

/** Distance from bead to bead, mm, in even rows that leave the base covered to that share. */
function spacingMm(shape: PartShape): number {
  const cover = sizeOf(shape, 'coverageShare');
  return sizeOf(shape, 'beadDiameterMm') * Math.sqrt(Math.PI / (2 * Math.sqrt(3) * cover));
}

function problems(shape: PartShape): readonly Problem[] {
  const diameter = sizeOf(shape, 'beadDiameterMm');
  const base = sizeOf(shape, 'baseAreaMm2');
  const beadArea = (Math.PI * diameter ** 2) / 4;
  if (beadArea <= base * sizeOf(shape, 'coverageShare')) {
    return [];
  }
  const bound = 'small enough for one bead on the covered share of the base';
  return [sizeProblem('beadDiameterMm', diameter, bound, 'Enter a single bead as a ball or dome.')];
}

/**
 * A base A of which beads cover the share c: A (1 + c) with half balls, A (1 + 4 c) with whole ones.
 * There is no second and third term: what a bead gains by its curvature it loses where its foot
 * sinks into the rising base, exactly so for half and for whole balls, until beads meet.
 */
export const beadTexturePart: PartDefinition = {
  kind: 'bead-texture',
  title: 'Bead texture',
  group: 'texture',
  explanation: 'Beads or grains on a base; the base between them and the beads count together.',
  // Coverage is judged by eye, to a tenth or two, and beads in hollows take less metal.
  areaUncertainty: 0.2,
  fields: [
    {
      name: 'baseAreaMm2',
      label: 'Base area',
      unit: 'mm2',
      min: 0.1,
      max: 10_000_000,
      typical: 400,
      help: 'Enter the smooth area that the beads are set on; 1 cm2 is 100 mm2.',
    },
    lengthField('beadDiameterMm', 'Bead diameter', [0.02, 1, 50], 'Measure a bead of middle size.'),
    {
      name: 'coverageShare',
      label: 'Coverage',
      unit: 'share',
      min: 0.01,
      max: 0.85,
      typical: 0.5,
      help: 'Judge from straight above which share of the base the beads hide; 0.5 is half.',
    },
    {
      name: 'beadForm',
      label: 'Bead form',
      unit: 'count',
      min: 0,
      max: 1,
      typical: 0,
      help: 'Choose whether beads are sunk in to their middle or sit on the surface.',
      choices: [
        { value: 0, label: 'Half sunk' },
        { value: 1, label: 'Whole' },
      ],
    },
  ],
  problems,
  growth(shape) {
    const adds = sizeOf(shape, 'beadForm') === 1 ? wholeBallAdds : halfBallAdds;
    return {
      areaMm2: sizeOf(shape, 'baseAreaMm2') * (1 + adds * sizeOf(shape, 'coverageShare')),
      meanCurvatureMm: 0,
      gaussThird: 0,
    };
  },
  crossSection: (shape) => ({ shape: 'round', diameterMm: sizeOf(shape, 'beadDiameterMm') }),
  dimensions: (shape) => [
    opening('beadGapMm', 'Gap between beads', spacingMm(shape) - sizeOf(shape, 'beadDiameterMm')),
  ],
  // A small square of it from above, in even rows.
  drawing(shape) {
    const spacing = spacingMm(shape);
    const radius = sizeOf(shape, 'beadDiameterMm') / 2;
    const beads = Array.from({ length: rowsDrawn ** 2 }, (_, index) => {
      const row = Math.floor(index / rowsDrawn);
      const shift = row % 2 === 0 ? 0 : spacing / 2;
      const across = (index % rowsDrawn) * spacing + shift;
      return circle('metal', radius, point(across, (row * spacing * Math.sqrt(3)) / 2));
    });
    // As far beyond the outermost beads as they lie apart.
    const wide = (rowsDrawn - 0.5) * spacing;
    const high = ((rowsDrawn - 1) * spacing * Math.sqrt(3)) / 2;
    const room = 2 * spacing;
    return drawingOf(
      rectangle('hidden', wide + room, high + room, point(wide / 2, high / 2)),
      ...beads,
      measure('beadDiameterMm', point(-radius, 0), point(radius, 0)),
    );
  },
};
