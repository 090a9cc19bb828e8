/** A chain of wire links. */

import { dimension, opening } from '../geometry/dimensions.ts';
import { arcPoints, drawingOf, measure, point, polygon } from '../geometry/drawing.ts';
import { lengthField, sizeOf, sizeProblem, wireDiameterField } from '../geometry/sizes.ts';
import { scaleGrowth, wireSideGrowth } from '../growth.ts';
import type { PartDefinition, PartShape, Point, Problem } from '../model.ts';

// Links drawn, so that a long chain stays a small drawing.
const linksDrawn = 30;

interface Link {
  readonly length: number;
  readonly width: number;
  readonly wire: number;
  readonly gap: number;
}

function linkOf(shape: PartShape): Link {
  return {
    length: sizeOf(shape, 'insideLengthMm'),
    width: sizeOf(shape, 'insideWidthMm'),
    wire: sizeOf(shape, 'wireDiameterMm'),
    gap: sizeOf(shape, 'linkGapMm'),
  };
}

function problems(shape: PartShape): readonly Problem[] {
  const { length, width, wire, gap } = linkOf(shape);
  if (wire >= width) {
    const advice = 'The wire of a link must pass through its neighbour.';
    return [sizeProblem('wireDiameterMm', wire, `below insideWidthMm, ${width}`, advice)];
  }
  if (length < width) {
    const advice = 'The longer way of the link is its length.';
    return [sizeProblem('insideLengthMm', length, `at least insideWidthMm, ${width}`, advice)];
  }
  if (2 * wire >= length) {
    const advice = 'Each link holds the wires of two neighbours.';
    return [sizeProblem('wireDiameterMm', wire, `below half of insideLengthMm, ${length}`, advice)];
  }
  const play = length - 2 * wire;
  if (gap <= play) {
    return [];
  }
  const advice = 'Links cannot be farther apart than their play inside each other.';
  return [sizeProblem('linkGapMm', gap, `at most insideLengthMm less two wires, ${play}`, advice)];
}

/** An upright oval of two half circles and two straight sides. */
function oval(length: number, width: number, middleX: number): readonly Point[] {
  const radius = width / 2;
  const straight = (length - width) / 2;
  return [
    ...arcPoints(radius, -90, 90, point(middleX + straight, 0)),
    ...arcPoints(radius, 90, 270, point(middleX - straight, 0)),
  ];
}

/**
 * Closed links of two half circles and two straight sides; the offset of any closed wire is that of
 * straight wire of its mid-line's length until it meets itself.
 */
export const chainPart: PartDefinition = {
  kind: 'chain',
  title: 'Chain of links',
  group: 'wire',
  explanation: 'Closed wire links; all of their surface counts, and links that touch will fuse.',
  // Wire as everywhere, and links that shade each other where they meet.
  areaUncertainty: 0.1,
  fields: [
    {
      name: 'links',
      label: 'Links',
      unit: 'count',
      min: 1,
      max: 10_000,
      typical: 20,
      help: 'Count the links below the surface.',
    },
    lengthField(
      'insideLengthMm',
      'Inside length of a link',
      [0.3, 5, 500],
      'Measure the clear opening of a link the longer way.',
    ),
    lengthField(
      'insideWidthMm',
      'Inside width of a link',
      [0.2, 3, 500],
      'Measure the clear opening of a link the shorter way.',
    ),
    wireDiameterField,
    lengthField(
      'linkGapMm',
      'Gap between links',
      [0.01, 0.4, 500],
      'Hang it as it will hang and measure the smallest gap between two links; touching links fuse.',
    ),
  ],
  problems,
  growth(shape) {
    const { length, width, wire } = linkOf(shape);
    const around = Math.PI * (width + wire) + 2 * (length - width);
    return scaleGrowth(wireSideGrowth(wire, around), sizeOf(shape, 'links'));
  },
  crossSection: (shape) => ({ shape: 'round', diameterMm: sizeOf(shape, 'wireDiameterMm') }),
  dimensions(shape) {
    const { length, width, wire, gap } = linkOf(shape);
    return [
      opening('linkGapMm', 'Gap between links', gap),
      // Both the opening and the neighbour's wire in it grow: the room on each side loses twice t.
      opening('linkPlayMm', 'Room beside the next link', (width - wire) / 2),
      dimension('insideLengthMm', 'Inside length of a link', length, -2),
      dimension('insideWidthMm', 'Inside width of a link', width, -2),
      dimension('outsideLengthMm', 'Outside length of a link', length + 2 * wire),
      dimension('wireDiameterMm', 'Wire diameter', wire),
    ];
  },
  // Every link is drawn flat, though in truth every other one stands on edge.
  drawing(shape) {
    const { length, width, wire, gap } = linkOf(shape);
    const links = Math.min(linksDrawn, sizeOf(shape, 'links'));
    const spacing = length - gap;
    const strokes = Array.from({ length: links }, (_, index) => [
      polygon('metal', oval(length + 2 * wire, width + 2 * wire, index * spacing)),
      polygon(index % 2 === 0 ? 'metal' : 'hidden', oval(length, width, index * spacing)),
    ]);
    return drawingOf(
      ...strokes.flat(),
      measure('insideLengthMm', point(-length / 2, 0), point(length / 2, 0)),
      measure('insideWidthMm', point(0, -width / 2), point(0, width / 2)),
    );
  },
};
