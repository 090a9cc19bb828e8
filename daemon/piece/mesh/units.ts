/** Units of length in meshes, and which of them a mesh without one may plausibly be in. */

import type { MeshUnit } from '../model.ts';

/** Exact by definition: the international inch is 25.4 mm, the foot twelve of them. */
const millimetres: Readonly<Record<MeshUnit, number>> = {
  micrometre: 0.001,
  millimetre: 1,
  centimetre: 10,
  inch: 25.4,
  foot: 304.8,
  metre: 1000,
};

/** Millimetres in one `unit`. */
export function millimetresPer(unit: MeshUnit): number {
  return millimetres[unit];
}

/** The size that a mesh would have, were its numbers in `unit`. Lengths in mm, area in mm2. */
export interface UnitCandidate {
  readonly unit: MeshUnit;
  readonly lengthMm: number;
  readonly widthMm: number;
  readonly heightMm: number;
  readonly areaMm2: number;
  /** Whether a piece of that size could hang in a bath of a bench. */
  readonly plausible: boolean;
}

// A bead of 2 mm is the smallest thing hung by itself, and no bench tank takes half a metre.
const leastPlausibleMm = 2;
const mostPlausibleMm = 500;
/** Units that may be meant where a file states none. */
export const askedUnits: readonly MeshUnit[] = ['millimetre', 'centimetre', 'inch', 'metre'];

/**
 * What a mesh of these extents and area measures in the unit it states, or in each that may be meant
 * where it states none.
 */
export function unitCandidates(
  extents: readonly [number, number, number],
  area: number,
  stated: MeshUnit | null,
): readonly UnitCandidate[] {
  const [lengthUnits = 0, widthUnits = 0, heightUnits = 0] = extents.toSorted((a, b) => b - a);
  return (stated === null ? askedUnits : [stated]).map((unit) => {
    const factor = millimetresPer(unit);
    const lengthMm = lengthUnits * factor;
    return {
      unit,
      lengthMm,
      widthMm: widthUnits * factor,
      heightMm: heightUnits * factor,
      areaMm2: area * factor * factor,
      plausible: lengthMm >= leastPlausibleMm && lengthMm <= mostPlausibleMm,
    };
  });
}
