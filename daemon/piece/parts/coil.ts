/** Round wire wound into an open coil. */

import { dimension, opening } from '../geometry/dimensions.ts';
import { drawingOf, measure, point, polygon, polyline } from '../geometry/drawing.ts';
import { helixSpacingMm, helixTurnMm } from '../geometry/helix.ts';
import { lengthField, sizeOf, sizeProblem, wireDiameterField } from '../geometry/sizes.ts';
import { wireSideGrowth } from '../growth.ts';
import type { PartDefinition, PartShape, Problem, Stroke } from '../model.ts';

// Narrowest gap between turns that still is one, mm.
const narrowestGapMm = 0.005;

// Turns drawn, so that a long coil stays a small drawing.
const turnsDrawn = 60;

interface Coil {
  readonly wire: number;
  /** Diameter of the mid-line. */
  readonly across: number;
  readonly pitch: number;
  readonly turns: number;
}

function coilOf(shape: PartShape): Coil {
  const wire = sizeOf(shape, 'wireDiameterMm');
  return {
    wire,
    across: sizeOf(shape, 'insideDiameterMm') + wire,
    pitch: sizeOf(shape, 'pitchMm'),
    turns: sizeOf(shape, 'turns'),
  };
}

/** Clear gap between neighbouring turns; null where there are none. */
function gapMm({ across, pitch, wire, turns }: Coil): number | null {
  const spacing = turns > 1 ? helixSpacingMm(across, pitch) : null;
  return spacing === null ? null : spacing - wire;
}

function problems(shape: PartShape): readonly Problem[] {
  const coil = coilOf(shape);
  if (coil.pitch <= coil.wire) {
    const bound = `above wireDiameterMm, ${coil.wire}`;
    const advice = 'Turns that touch grow as one: enter them as a tube.';
    return [sizeProblem('pitchMm', coil.pitch, bound, advice)];
  }
  const gap = gapMm(coil);
  if (gap !== null && gap < narrowestGapMm) {
    const bound = `large enough to leave a gap of ${narrowestGapMm} mm between leaning turns`;
    const advice = 'Turns that touch grow as one: enter them as a tube.';
    return [sizeProblem('pitchMm', coil.pitch, bound, advice)];
  }
  return [];
}

/** Front and back of every turn that is drawn. */
function turnsOf({ wire, across, pitch, turns }: Coil): readonly Stroke[] {
  const y = across / 2;
  return Array.from({ length: Math.min(turnsDrawn, Math.ceil(turns)) }, (_, index) => {
    const x = index * pitch;
    const half = wire / 2;
    const front = [
      point(x - half, y),
      point(x + half, y),
      point(x + pitch / 2 + half, -y),
      point(x + pitch / 2 - half, -y),
    ];
    const back = [point(x + pitch / 2, -y), point(x + pitch, y)];
    return [polygon('metal', front), polyline('hidden', back)];
  }).flat();
}

/**
 * A helix of wire: the offset of any curved wire is that of straight wire of its length until it
 * meets itself (Weyl's tube formula), so 2 pi r L, pi L, 0. Its two ends are left out: they lead on
 * into the rest of the piece.
 */
export const coilPart: PartDefinition = {
  kind: 'coil',
  title: 'Coil',
  group: 'wire',
  explanation: 'Round wire wound with gaps between the turns; its side counts, its ends do not.',
  // Wire as everywhere, and turns that are never quite alike; the inside takes less metal.
  areaUncertainty: 0.1,
  fields: [
    lengthField(
      'insideDiameterMm',
      'Inside diameter',
      [0.2, 5, 1_000],
      'Measure the rod it was wound on, or the clear width inside it.',
    ),
    wireDiameterField,
    lengthField(
      'pitchMm',
      'Pitch',
      [0.1, 2, 1_000],
      'Measure from the middle of one turn to the middle of the next; take the mean of ten.',
    ),
    {
      name: 'turns',
      label: 'Turns',
      unit: 'number',
      min: 0.25,
      max: 10_000,
      typical: 10,
      help: 'Count the turns of the wire; a half turn is 0.5.',
    },
  ],
  problems,
  growth(shape) {
    const { wire, across, pitch, turns } = coilOf(shape);
    return wireSideGrowth(wire, turns * helixTurnMm(across, pitch));
  },
  crossSection: (shape) => ({ shape: 'round', diameterMm: sizeOf(shape, 'wireDiameterMm') }),
  dimensions(shape) {
    const coil = coilOf(shape);
    const sizes = [
      opening('insideDiameterMm', 'Inside diameter', coil.across - coil.wire),
      dimension('outsideDiameterMm', 'Outside diameter', coil.across + coil.wire),
      dimension('wireDiameterMm', 'Wire diameter', coil.wire),
    ];
    const gap = gapMm(coil);
    return gap === null ? sizes : [...sizes, opening('gapMm', 'Gap between turns', gap)];
  },
  drawing(shape) {
    const coil = coilOf(shape);
    const y = coil.across / 2 + coil.wire;
    const end = coil.turns * coil.pitch;
    return drawingOf(
      ...turnsOf(coil),
      measure('pitchMm', point(0, y), point(coil.pitch, y)),
      polyline('measure', [point(0, -y), point(end, -y)]),
    );
  },
};
