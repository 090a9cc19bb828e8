/**
 * Charge per area along the stages of a plan. While the current follows the growing area, thickness
 * depends on the density alone: dV/dt = A dt_thickness, so thickness is this sum times a constant
 * of the metal, whatever the shape. That closed form replaces any stepwise integration.
 */

import { volumeMm3FromCharge } from '../chemistry/faraday.ts';
import type { Metal } from '../chemistry/model.ts';
import type { Stage } from './model.ts';
import { densityAmpsPerDm2At, mm2PerDm2 } from './stages.ts';

const msPerHour = 3_600_000;

/** Thickness, mm, that one A·h on one dm2 leaves where the area grows along with it. */
export function millimetresPerAmpHourPerDm2(metal: Metal, efficiency: number): number {
  return volumeMm3FromCharge(metal, 1, efficiency) / mm2PerDm2;
}

/** Charge per area, A·h/dm2, after a time in one stage; past its end it goes on at its end density. */
function withinStage(stage: Stage, elapsedMs: number): number {
  const insideMs = Math.min(elapsedMs, stage.durationMs);
  const meanAmpsPerDm2 = (stage.startAmpsPerDm2 + densityAmpsPerDm2At(stage, insideMs)) / 2;
  const beyondMs = elapsedMs - insideMs;
  return (meanAmpsPerDm2 * insideMs + stage.endAmpsPerDm2 * beyondMs) / msPerHour;
}

function isLast(stages: readonly Stage[], index: number): boolean {
  return index === stages.length - 1;
}

/** Charge per area, A·h/dm2, after a time in the stages given; the last one goes on without end. */
export function chargePerAreaAt(stages: readonly Stage[], elapsedMs: number): number {
  let sum = 0;
  let leftMs = Math.max(0, elapsedMs);
  for (const [index, stage] of stages.entries()) {
    const inStageMs = isLast(stages, index) ? leftMs : Math.min(leftMs, stage.durationMs);
    sum += withinStage(stage, inStageMs);
    leftMs -= inStageMs;
  }
  return sum;
}

/** Time, ms, into a stage at which it has brought a charge per area that it does bring. */
function timeWithin(stage: Stage, chargePerArea: number): number {
  const start = stage.startAmpsPerDm2;
  const slope = (stage.endAmpsPerDm2 - start) / stage.durationMs;
  const wanted = chargePerArea * msPerHour;
  // The root of slope/2 t^2 + start t = wanted, in the form that stays exact for a small slope.
  return (2 * wanted) / (start + Math.sqrt(Math.max(0, start * start + 2 * slope * wanted)));
}

/**
 * Time, ms, after which the stages have brought a charge per area, A·h/dm2; the inverse of
 * `chargePerAreaAt`. The last stage goes on without end at its end density.
 */
export function timeMsAtChargePerArea(stages: readonly Stage[], chargePerArea: number): number {
  let passedMs = 0;
  let left = Math.max(0, chargePerArea);
  for (const [index, stage] of stages.entries()) {
    const whole = withinStage(stage, stage.durationMs);
    if (left < whole) {
      return passedMs + timeWithin(stage, left);
    }
    passedMs += stage.durationMs;
    left -= whole;
    if (isLast(stages, index) && left > 0) {
      passedMs += (left * msPerHour) / stage.endAmpsPerDm2;
    }
  }
  return passedMs;
}

/** Density wanted after a time in the stages given, A/dm2; the last one goes on at its end density. */
export function densityAtElapsed(stages: readonly Stage[], elapsedMs: number): number {
  let leftMs = elapsedMs;
  for (const [index, stage] of stages.entries()) {
    if (leftMs < stage.durationMs || isLast(stages, index)) {
      return densityAmpsPerDm2At(stage, leftMs);
    }
    leftMs -= stage.durationMs;
  }
  return 0;
}
