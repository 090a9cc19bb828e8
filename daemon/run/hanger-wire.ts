/** What the current does to the bare copper wire that a piece hangs from: its rating, warmth and drop. */

import type { PieceDescription } from '../piece/model.ts';
import type { HangerLoad } from './plan-findings.ts';

/** Ohm metres at 20 C and its change per kelvin: annealed copper, IEC 60028; from memory, high confidence. */
const copperOhmMetres = 1.7241e-8;
const copperPerKelvin = 0.00393;

/**
 * Air at 40 C and 1 atm: kinematic viscosity and thermal diffusivity, m2/s; conductivity, W/(m K);
 * from memory, high confidence.
 */
const airViscosity = 1.7e-5;
const airDiffusivity = 2.41e-5;
const airConductivity = 0.0271;
const airPrandtl = airViscosity / airDiffusivity;
const filmKelvin = 313;
const gravity = 9.81;

/** Rise at which a wire is called warm, K; its rating is the current that brings it there. */
export const warmKelvin = 30;
/** Rise at which it burns a finger and softens wax and lacquer, K. */
export const hotKelvin = 80;
const mostKelvin = 400;

/** Wire between the surface of the bath and its clip, mm; assumed, no source. */
const dryLengthMm = 100;

/**
 * Heat, W/K per metre, that a horizontal wire gives to still air at a rise in K: the correlation of
 * Churchill and Chu (Int. J. Heat Mass Transfer 18, 1975, 1049); from memory, medium confidence.
 * Radiation of bright copper is left out, which is cautious.
 */
function wattsPerMetreKelvin(diameterMm: number, riseKelvin: number): number {
  const metres = diameterMm / 1000;
  const rayleigh =
    (gravity * riseKelvin * metres ** 3) / (filmKelvin * airViscosity * airDiffusivity);
  const prandtl = (1 + (0.559 / airPrandtl) ** (9 / 16)) ** (8 / 27);
  const nusselt = (0.6 + (0.387 * rayleigh ** (1 / 6)) / prandtl) ** 2;
  return Math.PI * nusselt * airConductivity;
}

function ohmsPerMetre(diameterMm: number, riseKelvin: number): number {
  const areaM2 = (Math.PI / 4) * (diameterMm / 1000) ** 2;
  return (copperOhmMetres * (1 + copperPerKelvin * riseKelvin)) / areaM2;
}

/** Current, A, that holds bare copper wire of that diameter at a rise in K above still room air. */
export function ampsAtRise(diameterMm: number, riseKelvin: number): number {
  const watts = wattsPerMetreKelvin(diameterMm, riseKelvin) * riseKelvin;
  return Math.sqrt(watts / ohmsPerMetre(diameterMm, riseKelvin));
}

/** Rise, K, of such a wire at a current; the inverse of `ampsAtRise`, up to 400 K. */
export function riseKelvinAt(diameterMm: number, amps: number): number {
  let low = 0;
  let high = mostKelvin;
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (ampsAtRise(diameterMm, middle) < amps) low = middle;
    else high = middle;
  }
  return high;
}

/** Diameter, mm, of wire that a current warms by no more than 30 K; up to 20 mm. */
export function diameterMmFor(amps: number): number {
  let low = 0.01;
  let high = 20;
  for (let step = 0; step < 60; step += 1) {
    const middle = (low + high) / 2;
    if (ampsAtRise(middle, warmKelvin) < amps) low = middle;
    else high = middle;
  }
  return high;
}

/**
 * The hanger that warms most when a current shares itself over all of them by their cross-section;
 * null where the piece has none. Wires are taken as copper, and as hanging side by side.
 */
export function hangerLoad({ parts }: PieceDescription, wholeAmps: number): HangerLoad | null {
  const wires = parts.flatMap(({ kind, sizes, count }, partIndex) => {
    const diameterMm = sizes['wireDiameterMm'];
    if (kind !== 'hanger' || diameterMm === undefined) return [];
    const wetMm = sizes['submergedLengthMm'] ?? 0;
    return [{ partIndex, diameterMm, count, lengthMm: wetMm + dryLengthMm }];
  });
  const whole = wires.reduce((sum, { diameterMm, count }) => sum + count * diameterMm ** 2, 0);
  const loads = wires.map(({ partIndex, diameterMm, lengthMm }): HangerLoad => {
    const amps = (wholeAmps * diameterMm ** 2) / whole;
    const riseKelvin = riseKelvinAt(diameterMm, amps);
    return {
      partIndex,
      diameterMm,
      amps,
      ratingAmps: ampsAtRise(diameterMm, warmKelvin),
      riseKelvin,
      dropVolts: (amps * ohmsPerMetre(diameterMm, riseKelvin) * lengthMm) / 1000,
    };
  });
  return loads.toSorted((first, second) => second.riseKelvin - first.riseKelvin)[0] ?? null;
}
