/** The deposit on a piece: from charge to volume, thickness, area and mass, and back. */

import {
  chargeAmpHoursFromVolume,
  massGramsFromCharge,
  volumeMm3FromCharge,
} from '../chemistry/faraday.ts';
import type { Metal } from '../chemistry/model.ts';
import {
  areaMm2At,
  growthLimit,
  thicknessMmAtVolume,
  volumeMm3At,
  type GrowthLimit,
} from '../piece/growth.ts';
import type { Growth } from '../piece/model.ts';

/** All that ties a charge to a thickness on one piece in one bath. */
export interface Deposit {
  readonly growth: Growth;
  readonly metal: Metal;
  /** Share of the charge that becomes metal, 0 to 1. */
  readonly efficiency: number;
  /** Where a bore closes or the surface is used up; null where nothing ends the growth. */
  readonly limit: GrowthLimit | null;
}

/** `closesAtMm` is the thickness at which the first bore of the piece closes, or null. */
export function depositOn(
  growth: Growth,
  closesAtMm: number | null,
  metal: Metal,
  efficiency: number,
): Deposit {
  return { growth, metal, efficiency, limit: growthLimit(growth, closesAtMm) };
}

// A run that overshoots into a closed bore still has to be counted and shown: past the limit the
// area stays what it was there, and never falls below this share of the first area.
const leastAreaShare = 0.01;

/** Area of the surface, mm2, at a thickness in mm; past the limit it stays what it was there. */
export function areaMm2AtThickness({ growth, limit }: Deposit, thicknessMm: number): number {
  const insideMm = limit === null ? thicknessMm : Math.min(thicknessMm, limit.thicknessMm);
  return Math.max(leastAreaShare * growth.areaMm2, areaMm2At(growth, insideMm));
}

/** Volume of metal, mm3, at a thickness in mm. */
export function volumeMm3AtThickness(deposit: Deposit, thicknessMm: number): number {
  const { growth, limit } = deposit;
  if (limit === null || thicknessMm <= limit.thicknessMm) {
    return volumeMm3At(growth, thicknessMm);
  }
  const beyondMm = thicknessMm - limit.thicknessMm;
  return limit.volumeMm3 + beyondMm * areaMm2AtThickness(deposit, limit.thicknessMm);
}

/** Thickness, mm, of a volume of metal in mm3, 0 or more; the inverse of `volumeMm3AtThickness`. */
export function thicknessMmOfVolume(deposit: Deposit, volumeMm3: number): number {
  const { growth, limit } = deposit;
  if (limit === null || volumeMm3 <= limit.volumeMm3) {
    return thicknessMmAtVolume(growth, volumeMm3, limit?.thicknessMm ?? null);
  }
  const beyondMm3 = volumeMm3 - limit.volumeMm3;
  return limit.thicknessMm + beyondMm3 / areaMm2AtThickness(deposit, limit.thicknessMm);
}

/** Volume of metal, mm3, that a charge in A·h leaves on the piece. */
export function volumeMm3OfCharge({ metal, efficiency }: Deposit, ampHours: number): number {
  return volumeMm3FromCharge(metal, ampHours, efficiency);
}

/** Mean thickness, mm, after a charge in A·h. */
export function thicknessMmOfCharge(deposit: Deposit, ampHours: number): number {
  return thicknessMmOfVolume(deposit, volumeMm3OfCharge(deposit, ampHours));
}

/** Charge, A·h, that grows a mean thickness in mm. */
export function ampHoursOfThickness(deposit: Deposit, thicknessMm: number): number {
  const { metal, efficiency } = deposit;
  const volumeMm3 = volumeMm3AtThickness(deposit, thicknessMm);
  return chargeAmpHoursFromVolume(metal, volumeMm3, efficiency);
}

/** Mass of metal, g, after a charge in A·h. */
export function massGramsOfCharge({ metal, efficiency }: Deposit, ampHours: number): number {
  return massGramsFromCharge(metal, ampHours, efficiency);
}
