/** What a plan says about now and later: thickness and mass so far, time left, and curves for charts. */

import { pieceClosesAtMm } from '../piece/piece.ts';
import {
  chargePerAreaAt,
  densityAtElapsed,
  millimetresPerAmpHourPerDm2,
  timeMsAtChargePerArea,
} from './charge-density.ts';
import {
  ampHoursOfThickness,
  areaMm2AtThickness,
  type Deposit,
  depositOn,
  depositOnParts,
  massGramsOfCharge,
  thicknessMmOfCharge,
  thicknessMmOfVolume,
  volumeMm3OfCharge,
} from './deposit.ts';
import type { Plan, Ranged, Stage } from './model.ts';
import { mm2PerDm2, wantedAmps } from './stages.ts';
import { type Spread, thicknessSpread } from './uncertainty.ts';

const micrometresPerMm = 1000;

/** What follows from a plan alone: a plan never changes, and is asked for it at every reading. */
const deposits = new WeakMap<Plan, Deposit>();
const spreads = new WeakMap<Plan, Spread>();

/** The deposit that a plan grows. */
export function depositOfPlan(plan: Plan): Deposit {
  const known = deposits.get(plan);
  if (known !== undefined) return known;
  const deposit = workOutDeposit(plan);
  deposits.set(plan, deposit);
  return deposit;
}

function workOutDeposit({ request, growth, metal, bath }: Plan): Deposit {
  const { piece, acceptClosures = [] } = request;
  const { value } = bath.efficiency;
  if (acceptClosures.length > 0) return depositOnParts(piece, acceptClosures, metal, value);
  return depositOn(growth, pieceClosesAtMm(piece)?.closesAtMm ?? null, metal, value);
}

function spreadOfPlan(plan: Plan): Spread {
  const known = spreads.get(plan);
  if (known !== undefined) return known;
  const spread = thicknessSpread({
    areaShare: plan.areaDm2.high / plan.areaDm2.value - 1,
    bath: plan.bath,
    meterShare: plan.tank.supply.meterUncertainty,
  });
  spreads.set(plan, spread);
  return spread;
}

/** The stages that grow towards the target; the trickle comes after it. */
export function growingStages(stages: readonly Stage[]): readonly Stage[] {
  return stages.filter((stage) => stage.kind !== 'trickle');
}

function millimetresPerChargePerArea(plan: Plan): number {
  return millimetresPerAmpHourPerDm2(plan.metal, plan.bath.efficiency.value);
}

/**
 * Mean thickness, micrometres, after a charge in A·h, with the range that area, efficiency, meter
 * and metal density leave; `lowAmpHours` and `highAmpHours` are the bounds of the charge itself.
 */
export function thicknessNow(
  plan: Plan,
  ampHours: number,
  lowAmpHours: number = ampHours,
  highAmpHours: number = ampHours,
): Ranged {
  const deposit = depositOfPlan(plan);
  const spread = spreadOfPlan(plan);
  const micrometres = (charge: number, factor: number) =>
    micrometresPerMm *
    thicknessMmOfVolume(deposit, volumeMm3OfCharge(deposit, Math.max(0, charge)) * factor);
  return {
    value: micrometres(ampHours, 1),
    low: micrometres(Math.min(lowAmpHours, ampHours), spread.low),
    high: micrometres(Math.max(highAmpHours, ampHours), spread.high),
  };
}

/** Mean thickness alone, micrometres, after a charge in A·h. */
export function meanThicknessNow(plan: Plan, ampHours: number): number {
  return micrometresPerMm * thicknessMmOfCharge(depositOfPlan(plan), Math.max(0, ampHours));
}

/** Area of the piece, dm2, after a charge in A·h: it grows with the deposit. */
export function areaDm2Now(plan: Plan, ampHours: number): number {
  const deposit = depositOfPlan(plan);
  const thicknessMm = thicknessMmOfCharge(deposit, Math.max(0, ampHours));
  return areaMm2AtThickness(deposit, thicknessMm) / mm2PerDm2;
}

/** Mass of metal, g, after a charge in A·h. */
export function massGramsNow(plan: Plan, ampHours: number): number {
  return massGramsOfCharge(depositOfPlan(plan), Math.max(0, ampHours));
}

/** How far along its growing stages a run is, ms of the plan. */
function planTimeMs(plan: Plan, nowStageIndex: number, elapsedInStageMs: number): number {
  const stage = plan.stages[nowStageIndex];
  const stages = growingStages(plan.stages);
  const before = stages.slice(0, nowStageIndex).reduce((sum, past) => sum + past.durationMs, 0);
  const within =
    stage === undefined || stage.kind === 'hold'
      ? elapsedInStageMs
      : Math.min(elapsedInStageMs, stage.durationMs);
  return before + Math.max(0, within);
}

/**
 * Mean thickness, micrometres, after so much longer, ms, from a charge so far and a place in the
 * growing stages; the hold goes on for as long as it takes. The inverse of `remainingMs`.
 */
export function micrometresAfter(
  plan: Plan,
  ampHoursSoFar: number,
  nowStageIndex: number,
  elapsedInStageMs: number,
  leftMs: number,
): number {
  const stages = growingStages(plan.stages);
  const atMs = planTimeMs(plan, nowStageIndex, elapsedInStageMs);
  const due = chargePerAreaAt(stages, atMs + leftMs) - chargePerAreaAt(stages, atMs);
  return (
    meanThicknessNow(plan, ampHoursSoFar) +
    micrometresPerMm * millimetresPerChargePerArea(plan) * due
  );
}

/**
 * Time until this plan's target, ms, from a charge so far and a place in its stages; in the trickle,
 * the time until its end. 0 when the target is reached. Assumes that the plan is followed from here.
 */
export function remainingMs(
  plan: Plan,
  ampHoursSoFar: number,
  nowStageIndex: number,
  elapsedInStageMs: number,
): number {
  const stage = plan.stages[nowStageIndex];
  if (stage?.kind === 'trickle') {
    return Math.max(0, stage.durationMs - elapsedInStageMs);
  }
  const deposit = depositOfPlan(plan);
  const leftMm =
    thicknessMmOfCharge(deposit, plan.targetChargeAmpHours) -
    thicknessMmOfCharge(deposit, Math.max(0, ampHoursSoFar));
  if (leftMm <= 0) {
    return 0;
  }
  const stages = growingStages(plan.stages);
  const atMs = planTimeMs(plan, nowStageIndex, elapsedInStageMs);
  const due = chargePerAreaAt(stages, atMs) + leftMm / millimetresPerChargePerArea(plan);
  return timeMsAtChargePerArea(stages, due) - atMs;
}

/** A plan over time as columns of equal length. */
export interface PlanCurve {
  /** From the start of the run, ms. */
  readonly atMs: readonly number[];
  readonly amps: readonly number[];
  readonly ampHours: readonly number[];
  readonly thicknessMicrometres: readonly number[];
}

/** Planned current, charge and thickness from the start to the target, at so many even moments. */
export function planCurve(plan: Plan, points: number): PlanCurve {
  const stages = growingStages(plan.stages);
  const deposit = depositOfPlan(plan);
  const perArea = millimetresPerChargePerArea(plan);
  const count = Math.max(2, Math.floor(points));
  const atMs = Array.from({ length: count }, (_, index) => (plan.durationMs * index) / (count - 1));
  const thicknessMm = atMs.map((moment) => perArea * chargePerAreaAt(stages, moment));
  return {
    atMs,
    amps: thicknessMm.map((thickness, index) =>
      wantedAmps(
        densityAtElapsed(stages, atMs[index] ?? 0),
        areaMm2AtThickness(deposit, thickness),
      ),
    ),
    ampHours: thicknessMm.map((thickness) => ampHoursOfThickness(deposit, thickness)),
    thicknessMicrometres: thicknessMm.map((thickness) => thickness * micrometresPerMm),
  };
}
