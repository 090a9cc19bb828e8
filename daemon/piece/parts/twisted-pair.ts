/** Two round wires twisted round each other. */

import { dimension } from '../geometry/dimensions.ts';
import { drawingOf, measure, point, polyline } from '../geometry/drawing.ts';
import { helixTurnMm } from '../geometry/helix.ts';
import { lengthField, sizeOf, sizeProblem, wireDiameterField } from '../geometry/sizes.ts';
import { scaleGrowth } from '../growth.ts';
import type { Growth, PartDefinition, PartShape, Problem } from '../model.ts';

/**
 * Growth per length of one wire, of radius r, of the pair, by the lean q of the wires, pi d over the
 * lay: (11.75 - q^6) r, 2 - 1.4 q^3, 0. Deep in the groove where the wires touch, the metal of both
 * sides meets from the first, which no polynomial follows; this one was fitted to the volume of two
 * helical tubes of radius r + t taken together, and keeps to it within 3.5 % from t = r / 20 to t = r
 * for every lay. Two wires apart would be 4 pi r, 2 pi. The test works the volumes out again.
 */
function growthPerWireMm(wireDiameterMm: number, layMm: number): Growth {
  const lean = (Math.PI * wireDiameterMm) / layMm;
  return {
    areaMm2: ((11.75 - lean ** 6) * wireDiameterMm) / 2,
    meanCurvatureMm: 2 - 1.4 * lean ** 3,
    gaussThird: 0,
  };
}

// Lays of the twist drawn, so that a long pair stays a small drawing.
const laysDrawn = 40;

function problems(shape: PartShape): readonly Problem[] {
  const wire = sizeOf(shape, 'wireDiameterMm');
  const lay = sizeOf(shape, 'layMm');
  const shortest = Math.PI * wire;
  if (lay >= shortest) {
    return [];
  }
  // At a lay of pi d the wires lean by 45 degrees; closer, each would have to pass through the other.
  const bound = `at least pi times wireDiameterMm, ${shortest.toFixed(3)}`;
  return [sizeProblem('layMm', lay, bound, 'Measure one full turn of one wire, not half of it.')];
}

/** Two helices whose mid-lines lie one wire diameter apart. */
export const twistedPairPart: PartDefinition = {
  kind: 'twisted-pair',
  title: 'Twisted pair',
  group: 'wire',
  explanation:
    'Two round wires twisted together; their side counts, less the groove that fills at once: bare, it is 7 to 17 % more.',
  // Wire as everywhere, and a groove that fills more or less.
  areaUncertainty: 0.1,
  fields: [
    wireDiameterField,
    lengthField(
      'layMm',
      'Lay',
      [0.2, 5, 1_000],
      'Measure along the pair how far one wire takes to go round once.',
    ),
    lengthField(
      'lengthMm',
      'Length',
      [0.1, 60, 10_000],
      'Measure along the twisted pair, as it is now.',
    ),
  ],
  problems,
  growth(shape) {
    const wire = sizeOf(shape, 'wireDiameterMm');
    const lay = sizeOf(shape, 'layMm');
    const wireLength = (sizeOf(shape, 'lengthMm') / lay) * helixTurnMm(wire, lay);
    return scaleGrowth(growthPerWireMm(wire, lay), wireLength);
  },
  crossSection: (shape) => ({ shape: 'round', diameterMm: sizeOf(shape, 'wireDiameterMm') }),
  dimensions: (shape) => [
    dimension('pairWidthMm', 'Width of the pair', 2 * sizeOf(shape, 'wireDiameterMm')),
    dimension('wireDiameterMm', 'Wire diameter', sizeOf(shape, 'wireDiameterMm')),
  ],
  drawing(shape) {
    const wire = sizeOf(shape, 'wireDiameterMm');
    const lay = sizeOf(shape, 'layMm');
    const length = sizeOf(shape, 'lengthMm');
    const shown = Math.min(length, laysDrawn * lay);
    const steps = Math.max(2, Math.ceil((24 * shown) / lay));
    const edge = (sign: 1 | -1, offset: number) =>
      polyline(
        'metal',
        Array.from({ length: steps + 1 }, (_, index) => {
          const x = (shown * index) / steps;
          return point(x, (sign * wire * Math.sin((2 * Math.PI * x) / lay)) / 2 + offset);
        }),
      );
    const half = wire / 2;
    return drawingOf(
      edge(1, half),
      edge(1, -half),
      edge(-1, half),
      edge(-1, -half),
      measure('layMm', point(0, 1.5 * wire), point(Math.min(lay, shown), 1.5 * wire)),
      measure('lengthMm', point(0, -1.5 * wire), point(length, -1.5 * wire)),
    );
  },
};
