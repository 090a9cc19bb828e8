/** Turns a request into a plan that can be read, argued with and started, or says why it cannot. */

import type { Bath } from '../chemistry/model.ts';
import { runLimits } from './limits.ts';
import type { PlanRequest, PlanResult, TankFacts } from './model.ts';
import { planNotices } from './notices/list.ts';
import { planFigures } from './plan-figures.ts';
import { planProblems } from './plan-problems.ts';

/**
 * Plans a request in a bath and a tank. Numbers that are missing, absurd or contradictory come back
 * as problems; everything else is a plan whose notices say what speaks against it. Only a plan
 * without a refusing notice is startable.
 */
export function planRun(request: PlanRequest, bath: Bath, tank: TankFacts): PlanResult {
  const problems = planProblems(request, bath, tank);
  if (problems.length > 0) {
    return { ok: false, problems };
  }
  const figures = planFigures(request, bath, tank);
  const notices = planNotices(figures);
  return {
    ok: true,
    plan: {
      request,
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
    },
  };
}
