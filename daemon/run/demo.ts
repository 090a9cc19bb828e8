/** A night's work of the demonstration studio, ready to plan: a cast-resin seed head. */

import type { PieceDescription } from '../piece/model.ts';
import type { PlanRequest } from './model.ts';

/** The piece: a resin cast of a teasel's seed head, painted with copper paint, on its stalk. */
export const demoPiece: PieceDescription = {
  name: 'Teasel head, cast resin',
  parts: [
    {
      kind: 'ball',
      label: 'Head',
      count: 1,
      platedFraction: 0.95,
      sizes: { diameterMm: 26 },
    },
    {
      kind: 'wire',
      label: 'Spines',
      count: 60,
      platedFraction: 1,
      sizes: { wireDiameterMm: 0.9, lengthMm: 7 },
    },
    {
      kind: 'wire',
      label: 'Stalk',
      count: 1,
      platedFraction: 1,
      sizes: { wireDiameterMm: 3.2, lengthMm: 48 },
    },
    {
      kind: 'hanger',
      label: 'Hanger',
      count: 1,
      platedFraction: 1,
      sizes: { wireDiameterMm: 0.8, submergedLengthMm: 40 },
    },
  ],
  areaUncertainty: 0.12,
};

/** A plan request for one tank and bath that takes seven to eight hours in a small copper tank. */
export function demoPlanRequest(tankId: string, bathId: string): PlanRequest {
  return {
    piece: demoPiece,
    tankId,
    bathId,
    paint: 'copper',
    densityAmpsPerDm2: 1.5,
    target: { kind: 'thickness', micrometres: 135 },
    trickle: null,
  };
}
