/** Turns a request into a plan that can be read, argued with and started, or says why it cannot. */

import type { Bath } from '../chemistry/model.ts';
import { runLimits } from './limits.ts';
import type { FinalSizePlan, PlanContext, PlanQuestion, PlanResult, TankFacts } from './model.ts';
import { planNotices } from './notices/list.ts';
import { type PlanFigures, planFigures } from './plan-figures.ts';
import { planProblems } from './plan-problems.ts';
import { resolveQuestion } from './plan-question.ts';
import { dominantDoubt } from './uncertainty.ts';

const micrometresPerMm = 1000;

/** The upper end of the thickness takes in the trickle, which may run on after the target. */
function finalSizePlan(figures: PlanFigures): FinalSizePlan | null {
  const { resolved, thicknessMicrometres, trickle } = figures;
  const { finalSize } = resolved;
  if (finalSize === null) return null;
  const { valueMm, growthPerThickness, label } = finalSize.dimension;
  const at = (micrometres: number) =>
    Math.max(0, valueMm + (growthPerThickness * micrometres) / micrometresPerMm);
  const { value, low, high } = thicknessMicrometres;
  const ends = [at(low), at(high + (trickle?.addedMm ?? 0) * micrometresPerMm)];
  const afterMm = { value: at(value), low: Math.min(...ends), high: Math.max(...ends) };
  return { partIndex: finalSize.partIndex, label, beforeMm: valueMm, afterMm };
}

/**
 * Plans a request in a bath and a tank. Numbers that are missing, absurd or contradictory come back
 * as problems; everything else is a plan whose notices say what speaks against it. Only a plan
 * without a refusing notice is startable. The plan's request has nothing left open: asked again, it
 * gives the same plan. `context` is asked for a target by the clock that brings no hour of its own,
 * and for the table of materials.
 */
export function planRun(
  asked: PlanQuestion,
  bath: Bath,
  tank: TankFacts,
  context: PlanContext = {},
): PlanResult {
  // JSON that nobody checked may leave it out, which means the same as null.
  const { trickle }: { readonly trickle?: PlanQuestion['trickle'] | undefined } = { ...asked };
  const question = { ...asked, trickle: trickle ?? null };
  const problems = planProblems(question, bath, tank, context);
  if (problems.length > 0) {
    return { ok: false, problems };
  }
  const resolved = resolveQuestion(question, bath, tank, context);
  const figures = planFigures(resolved, bath, tank, context);
  const notices = planNotices(figures);
  return {
    ok: true,
    plan: {
      request: resolved.request,
      bath,
      metal: figures.metal,
      tank,
      growth: figures.deposit.growth,
      areaDm2: figures.areaDm2,
      stages: figures.stages,
      targetChargeAmpHours: figures.targetChargeAmpHours,
      thicknessMicrometres: figures.thicknessMicrometres,
      massGrams: figures.massGrams,
      durationMs: figures.durationMs,
      strikeAmps: figures.strikeAmps,
      holdStartAmps: figures.holdStartAmps,
      holdEndAmps: figures.holdEndAmps,
      expectedVolts: figures.expectedVolts,
      anodeLossGrams: figures.anodeLossGrams,
      energyWattHours: figures.energyWattHours,
      limits: runLimits(figures),
      decidingPart: figures.decidingPart,
      notices,
      startable: notices.every(({ severity }) => severity !== 'refuse'),
      densityFrom: resolved.densityFrom,
      evenness: figures.evenness,
      dominant: dominantDoubt(figures.sources),
      hanger: figures.hanger,
      contact: figures.start.contact,
      doneBy: resolved.doneBy,
      finalSize: finalSizePlan(figures),
      materials: figures.materials.judgement,
    },
  };
}
