/** The deposit on a piece: from charge to volume, thickness, area and mass, and back. */

import {
  chargeAmpHoursFromVolume,
  massGramsFromCharge,
  volumeMm3FromCharge,
} from '../chemistry/faraday.ts';
import type { Metal } from '../chemistry/model.ts';
import {
  addGrowth,
  areaMm2At,
  growthLimit,
  type GrowthLimit,
  scaleGrowth,
  thicknessMmAtVolume,
  volumeMm3At,
  zeroGrowth,
} from '../piece/growth.ts';
import type { Growth, PieceDescription } from '../piece/model.ts';
import { partGrowth } from '../piece/part-growth.ts';
import { closuresOf, isAccepted } from './closures.ts';

/** A stretch of surface that grows by one polynomial until it ends. */
export interface GrowthShare {
  readonly growth: Growth;
  /** Where a bore closes or the surface is used up; null where nothing ends the growth. */
  readonly limit: GrowthLimit | null;
}

/** All that ties a charge to a thickness on one piece in one bath. */
export interface Deposit {
  /** Of the whole piece, as long as nothing has closed. */
  readonly growth: Growth;
  readonly metal: Metal;
  /** Share of the charge that becomes metal, 0 to 1. */
  readonly efficiency: number;
  /** One for the whole piece; more where parts may close before the others are done. */
  readonly shares: readonly GrowthShare[];
}

/** `closesAtMm` is the thickness at which the first bore of the piece closes, or null. */
export function depositOn(
  growth: Growth,
  closesAtMm: number | null,
  metal: Metal,
  efficiency: number,
): Deposit {
  const shares = [{ growth, limit: growthLimit(growth, closesAtMm) }];
  return { growth, metal, efficiency, shares };
}

/**
 * The deposit on a piece of which some parts are accepted to close: each of them keeps the area that
 * it has when it closes, and the others go on growing.
 */
export function depositOnParts(
  piece: PieceDescription,
  accepted: readonly string[],
  metal: Metal,
  efficiency: number,
): Deposit {
  const closures = closuresOf(piece);
  const first = (indexes: ReadonlySet<number>) =>
    closures.find(({ partIndex }) => indexes.has(partIndex))?.closesAtMm ?? null;
  const closing = new Set(
    closures
      .filter((closure) => isAccepted(closure, closures, accepted))
      .map(({ partIndex }) => partIndex),
  );
  const factor = piece.areaFactor ?? 1;
  const all = piece.parts.map((part, index) => ({
    index,
    growth: scaleGrowth(partGrowth(part, index), factor),
  }));
  const others = all.filter(({ index }) => !closing.has(index));
  const groups = [
    ...all.filter(({ index }) => closing.has(index)).map((one) => [one]),
    ...(others.length > 0 ? [others] : []),
  ];
  const shares = groups.map((group): GrowthShare => {
    const growth = group.map((one) => one.growth).reduce(addGrowth, zeroGrowth);
    const indexes = new Set(group.map(({ index }) => index));
    return { growth, limit: growthLimit(growth, first(indexes)) };
  });
  const growth = all.map((one) => one.growth).reduce(addGrowth, zeroGrowth);
  return { growth, metal, efficiency, shares };
}

// A run that overshoots into a closed bore still has to be counted and shown: past the limit the
// area stays what it was there, and never falls below this share of the first area.
const leastAreaShare = 0.01;

function shareAreaMm2({ growth, limit }: GrowthShare, thicknessMm: number): number {
  const insideMm = limit === null ? thicknessMm : Math.min(thicknessMm, limit.thicknessMm);
  return Math.max(leastAreaShare * growth.areaMm2, areaMm2At(growth, insideMm));
}

function shareVolumeMm3(share: GrowthShare, thicknessMm: number): number {
  const { growth, limit } = share;
  if (limit === null || thicknessMm <= limit.thicknessMm) {
    return volumeMm3At(growth, thicknessMm);
  }
  const beyondMm = thicknessMm - limit.thicknessMm;
  return limit.volumeMm3 + beyondMm * shareAreaMm2(share, limit.thicknessMm);
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}

/** Area of the surface, mm2, at a thickness in mm; past a limit it stays what it was there. */
export function areaMm2AtThickness({ shares }: Deposit, thicknessMm: number): number {
  return sum(shares.map((share) => shareAreaMm2(share, thicknessMm)));
}

/** Volume of metal, mm3, at a thickness in mm. */
export function volumeMm3AtThickness({ shares }: Deposit, thicknessMm: number): number {
  return sum(shares.map((share) => shareVolumeMm3(share, thicknessMm)));
}

/** Thickness, mm, of a volume on one share alone; the inverse of `shareVolumeMm3`. */
function shareThicknessMm(share: GrowthShare, volumeMm3: number): number {
  const { growth, limit } = share;
  if (limit === null || volumeMm3 <= limit.volumeMm3) {
    return thicknessMmAtVolume(growth, volumeMm3, limit?.thicknessMm ?? null);
  }
  const beyondMm3 = volumeMm3 - limit.volumeMm3;
  return limit.thicknessMm + beyondMm3 / shareAreaMm2(share, limit.thicknessMm);
}

// Halving a bracket so often leaves nothing of it but the last bits of a float.
const halvings = 60;

/** Thickness, mm, of a volume of metal in mm3, 0 or more; the inverse of `volumeMm3AtThickness`. */
export function thicknessMmOfVolume(deposit: Deposit, volumeMm3: number): number {
  const [first, second] = deposit.shares;
  if (first !== undefined && second === undefined) return shareThicknessMm(first, volumeMm3);
  if (volumeMm3 === 0) return 0;
  let low = 0;
  let high = volumeMm3 / areaMm2AtThickness(deposit, 0);
  while (volumeMm3AtThickness(deposit, high) < volumeMm3) high *= 2;
  for (let step = 0; step < halvings; step += 1) {
    const middle = (low + high) / 2;
    if (volumeMm3AtThickness(deposit, middle) < volumeMm3) low = middle;
    else high = middle;
  }
  return high;
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
