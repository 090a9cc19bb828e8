/** How a piece grows under the stages of a request: from a target to thickness, charge and time. */

import { chargeAmpHoursFromMass } from '../chemistry/faraday.ts';
import { metalById } from '../chemistry/metals.ts';
import type { Bath } from '../chemistry/model.ts';
import type { PieceDescription } from '../piece/model.ts';
import { pieceClosesAtMm, pieceGrowth } from '../piece/piece.ts';
import {
  chargePerAreaAt,
  millimetresPerAmpHourPerDm2,
  timeMsAtChargePerArea,
} from './charge-density.ts';
import {
  ampHoursOfThickness,
  type Deposit,
  depositOn,
  depositOnParts,
  thicknessMmOfCharge,
} from './deposit.ts';
import type { PlainTarget, PlanRequest, Stage } from './model.ts';
import { chooseStages } from './stages.ts';

const msPerHour = 3_600_000;
const micrometresPerMm = 1000;

/** What growth depends on; of the request only its density, its paint and its start are asked. */
export interface GrowthFacts {
  readonly request: PlanRequest;
  readonly bath: Bath;
  readonly deposit: Deposit;
}

/** The deposit that a bath grows on a piece, of which some parts may be accepted to close. */
export function depositOnPiece(
  piece: PieceDescription,
  bath: Bath,
  acceptClosures: readonly string[] = [],
): Deposit {
  const metal = metalById(bath.metal);
  const { value } = bath.efficiency;
  if (acceptClosures.length > 0) return depositOnParts(piece, acceptClosures, metal, value);
  return depositOn(pieceGrowth(piece), pieceClosesAtMm(piece)?.closesAtMm ?? null, metal, value);
}

/** The stages up to the target, with a hold that goes on without end. */
export function growing(request: PlanRequest, bath: Bath): readonly Stage[] {
  return chooseStages({ ...request, trickle: null }, bath, 0);
}

/** Time, ms, in which a request at another density would grow a thickness in mm. */
export function durationMsAtDensity(
  { request, bath, deposit }: GrowthFacts,
  densityAmpsPerDm2: number,
  thicknessMm: number,
): number {
  const perArea = millimetresPerAmpHourPerDm2(deposit.metal, deposit.efficiency);
  const stages = growing({ ...request, densityAmpsPerDm2 }, bath);
  return timeMsAtChargePerArea(stages, thicknessMm / perArea);
}

/** Thickness, mm, that the stages of a request grow in a time. */
export function thicknessMmAfter(
  { request, bath, deposit }: GrowthFacts,
  elapsedMs: number,
): number {
  const perArea = millimetresPerAmpHourPerDm2(deposit.metal, deposit.efficiency);
  return perArea * chargePerAreaAt(growing(request, bath), elapsedMs);
}

/** A target in charge, thickness and time at once. */
export interface Aim {
  readonly ampHours: number;
  readonly thicknessMm: number;
  readonly durationMs: number;
}

/** What a plain target comes to under a request's stages. */
export function aimOf(facts: GrowthFacts, target: PlainTarget): Aim {
  const { request, deposit } = facts;
  const { densityAmpsPerDm2 } = request;
  if (target.kind === 'time') {
    const durationMs = target.hours * msPerHour;
    const thicknessMm = thicknessMmAfter(facts, durationMs);
    return { ampHours: ampHoursOfThickness(deposit, thicknessMm), thicknessMm, durationMs };
  }
  let thicknessMm: number;
  let ampHours: number;
  if (target.kind === 'thickness') {
    thicknessMm = target.micrometres / micrometresPerMm;
    ampHours = ampHoursOfThickness(deposit, thicknessMm);
  } else {
    ampHours =
      target.kind === 'mass'
        ? chargeAmpHoursFromMass(deposit.metal, target.grams, deposit.efficiency)
        : target.ampHours;
    thicknessMm = thicknessMmOfCharge(deposit, ampHours);
  }
  return {
    ampHours,
    thicknessMm,
    durationMs: durationMsAtDensity(facts, densityAmpsPerDm2, thicknessMm),
  };
}
