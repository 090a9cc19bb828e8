/** What is left of a run that carries on, against its growth stepped through second by second. */

import { describe, expect, it } from 'vitest';
import { demoPlanRequest } from '../../daemon/run/demo.ts';
import type { Plan, PlanRequest } from '../../daemon/run/model.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { leftOf } from '../../daemon/run/left.ts';
import { acidCopper, tank } from '../dashboard/plan-samples.ts';

function planned(changes: Partial<PlanRequest> = {}): Plan {
  const request = { ...demoPlanRequest('beaker', acidCopper.id), ...changes };
  const result = planRun(request, acidCopper, tank);
  if (!result.ok) throw new Error(JSON.stringify(result.problems));
  return result.plan;
}

/**
 * Steps the current along the stages, on the area as it grows, until the charge is there. The area is
 * that of V(t) = A t + H t2 + K t3; copper is 63.546 g/mol (IUPAC), 8.96 g/cm3 (CRC Handbook).
 */
function steppedMs(plan: Plan, carriedAmpHours: number): number {
  const { areaMm2, meanCurvatureMm, gaussThird } = plan.growth;
  const mm3PerAmpSecond = ((63.546 / (2 * 96_485.332_12)) * 1000 * 0.985) / 8.96;
  const stepSeconds = 2;
  const volumeAt = (t: number): number =>
    areaMm2 * t + meanCurvatureMm * t * t + gaussThird * t ** 3;
  const areaAt = (t: number): number => areaMm2 + 2 * meanCurvatureMm * t + 3 * gaussThird * t * t;
  let thickness = 0;
  let volume = carriedAmpHours * 3600 * mm3PerAmpSecond;
  while (volumeAt(thickness) < volume) thickness += 1e-5;
  const target = plan.targetChargeAmpHours * 3600 * mm3PerAmpSecond;
  let seconds = 0;
  while (volume < target) {
    const [strike, ramp, hold] = plan.stages;
    if (!strike || !ramp || !hold) throw new Error('A plan has three stages.');
    const inRamp = seconds * 1000 - strike.durationMs;
    const share = Math.min(1, Math.max(0, inRamp / ramp.durationMs));
    const density = ramp.startAmpsPerDm2 + (hold.endAmpsPerDm2 - ramp.startAmpsPerDm2) * share;
    const grown = ((density * areaAt(thickness)) / 10_000) * stepSeconds * mm3PerAmpSecond;
    volume += grown;
    thickness += grown / areaAt(thickness);
    seconds += stepSeconds;
  }
  return seconds * 1000;
}

describe('what is left of a run that carries on', () => {
  it('is the whole of it where nothing has grown yet', () => {
    const plan = planned();
    const left = leftOf(plan, 0);
    expect(left.ampHours).toBe(plan.targetChargeAmpHours);
    expect(left.durationMs).toBeCloseTo(plan.durationMs, 0);
    expect(left.share).toBe(1);
    expect(left.grownMicrometres).toBe(0);
  });

  it.each([0.2, 0.5, 0.9])('after %d of the charge takes as long as its growth does', (share) => {
    const plan = planned();
    const carried = share * plan.targetChargeAmpHours;
    const left = leftOf(plan, carried);
    expect(left.ampHours).toBeCloseTo((1 - share) * plan.targetChargeAmpHours, 9);
    expect(left.durationMs / steppedMs(plan, carried)).toBeCloseTo(1, 3);
    expect(left.stages.reduce((sum, stage) => sum + stage.durationMs, 0)).toBeCloseTo(
      left.durationMs,
      0,
    );
  });

  it('starts with its strike again, so the time is more than the share of the charge', () => {
    const plan = planned();
    const left = leftOf(plan, 0.5 * plan.targetChargeAmpHours);
    expect(left.durationMs).toBeGreaterThan(0.5 * plan.durationMs);
    expect(left.durationMs).toBeLessThan(plan.durationMs);
    expect(left.holdStartAmps).toBeGreaterThan(plan.holdStartAmps);
    expect(left.holdStartAmps).toBeLessThanOrEqual(plan.holdEndAmps);
  });

  it('leaves the trickle as it was asked for', () => {
    const plan = planned({ trickle: { densityAmpsPerDm2: 0.05, maxHours: 4 } });
    const trickle = leftOf(plan, 1).stages.find(({ kind }) => kind === 'trickle');
    expect(trickle?.durationMs).toBe(4 * 3_600_000);
  });

  it('is nothing where the earlier run has passed the target', () => {
    const plan = planned();
    const left = leftOf(plan, 2 * plan.targetChargeAmpHours);
    expect(left).toMatchObject({ ampHours: 0, durationMs: 0, share: 0 });
  });
});
