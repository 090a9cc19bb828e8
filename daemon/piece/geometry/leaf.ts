/** The outline of a leaf with pointed or blunt ends, by length, width and fullness. */

import type { Point } from '../model.ts';
import { point } from './drawing.ts';

// Lanczos' approximation of the gamma function, g = 7, nine terms, good to 1e-15. From memory.
const lanczos = [
  0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313,
  -176.61502916214059, 12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6,
  1.5056327351493116e-7,
];

function gamma(value: number): number {
  const shifted = value - 1;
  const [first = 0, ...rest] = lanczos;
  const series = rest.reduce((sum, term, index) => sum + term / (shifted + index + 1), first);
  const base = shifted + 7.5;
  return Math.sqrt(2 * Math.PI) * base ** (shifted + 0.5) * Math.exp(-base) * series;
}

/** Share of its rectangle that y = sin^e fills on x = cos: half the integral of sin^(e + 1). */
function fullnessOf(exponent: number): number {
  return (Math.sqrt(Math.PI) * gamma(exponent / 2 + 1)) / (2 * gamma(exponent / 2 + 1.5));
}

// Exponents between which the fullness of every leaf lies.
const bluntest = 0.25;
const slimmest = 8;

/** The exponent of the curve with that fullness, which falls as the exponent rises. */
function exponentOf(fullness: number): number {
  let [low, high] = [bluntest, slimmest];
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (fullnessOf(middle) > fullness) {
      low = middle;
    } else {
      high = middle;
    }
  }
  return (low + high) / 2;
}

// Points along one side; the perimeter by them is short by less than one part in a million.
const intervals = 1_500;

/**
 * The closed outline of a leaf of that length and width, mm: half width (w / 2) sin^e a at
 * (l / 2) cos a, with the exponent e at which it fills the share `fullness` of its rectangle. An
 * exponent of 1 is an ellipse (0.785), of 2 a lens of two parabolas (0.667).
 */
export function leafPoints(
  lengthMm: number,
  widthMm: number,
  fullness: number,
  perSide = intervals,
): readonly Point[] {
  const exponent = exponentOf(fullness);
  const side = Array.from({ length: perSide + 1 }, (_, index) => {
    const angle = (Math.PI * index) / perSide;
    // The sine of a rounded pi is not quite 0.
    const sine = index === perSide ? 0 : Math.sin(angle);
    return point((-lengthMm / 2) * Math.cos(angle), (widthMm / 2) * sine ** exponent);
  });
  const back = side.slice(1, -1).toReversed();
  return [...side, ...back.map(({ xMm, yMm }) => point(xMm, -yMm))];
}
