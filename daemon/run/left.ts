/** What is still to do when a run carries on from an earlier one: its charge, its time, its current. */

import { millimetresPerAmpHourPerDm2, timeMsAtChargePerArea } from './charge-density.ts';
import { areaMm2AtThickness, thicknessMmOfCharge } from './deposit.ts';
import type { Plan, Stage } from './model.ts';
import { depositOnPiece } from './plan-growth.ts';
import { wantedAmps } from './stages.ts';

export interface Left {
  /** Charge to the target, A·h; 0 where the earlier run has passed it. */
  readonly ampHours: number;
  /** From switching on to the target, strike and ramp included, ms. */
  readonly durationMs: number;
  /** Mean thickness that is there, in the figures of this plan. */
  readonly grownMicrometres: number;
  /** Current at the full density on the piece as it is now. */
  readonly holdStartAmps: number;
  /** The stages, the hold as long as is left for it. */
  readonly stages: readonly Stage[];
  /** Share of the plan's charge that is still to pass, 0 to 1. */
  readonly share: number;
}

/**
 * The rest of a plan after `carriedAmpHours`. A run that carries on begins with its strike again, so
 * the time left is more than the share of the charge would make it.
 */
export function leftOf(plan: Plan, carriedAmpHours: number): Left {
  const { request, bath, targetChargeAmpHours, thicknessMicrometres } = plan;
  const deposit = depositOnPiece(request.piece, bath, request.acceptClosures);
  const ampHours = Math.max(0, targetChargeAmpHours - carriedAmpHours);
  const grownMm = thicknessMmOfCharge(deposit, Math.max(0, carriedAmpHours));
  const toGrowMm = Math.max(0, thicknessMicrometres.value / 1000 - grownMm);
  const perArea = millimetresPerAmpHourPerDm2(deposit.metal, deposit.efficiency);
  const growing = plan.stages.filter(({ kind }) => kind !== 'trickle');
  const durationMs = ampHours === 0 ? 0 : timeMsAtChargePerArea(growing, toGrowMm / perArea);
  const gentleMs = growing
    .filter(({ kind }) => kind !== 'hold')
    .reduce((sum, stage) => sum + stage.durationMs, 0);
  return {
    ampHours,
    durationMs,
    grownMicrometres: grownMm * 1000,
    holdStartAmps: Math.min(
      plan.holdEndAmps,
      wantedAmps(request.densityAmpsPerDm2, areaMm2AtThickness(deposit, grownMm)),
    ),
    stages: plan.stages.map((stage) =>
      stage.kind === 'hold' ? { ...stage, durationMs: Math.max(0, durationMs - gentleMs) } : stage,
    ),
    share: targetChargeAmpHours > 0 ? ampHours / targetChargeAmpHours : 0,
  };
}
