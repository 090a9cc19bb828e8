/** A run that carries on to a time of day: its density, there and back, against the plan of the rest. */

import { describe, expect, it } from 'vitest';
import { demoPlanRequest } from '../../daemon/run/demo.ts';
import type { DoneByTarget, PlanQuestion } from '../../daemon/run/model.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { restOf, slowestFor, solvedForRest } from '../../daemon/run/rest.ts';
import { leftOf } from '../../daemon/run/left.ts';
import { acidCopper, tank } from '../dashboard/plan-samples.ts';

// Noon in Berlin on a day without a change of clocks.
const nowWallMs = Date.UTC(2026, 10, 25, 11, 0);
const hourMs = 3_600_000;
const goal = { kind: 'thickness', micrometres: 135 } as const;
const { densityAmpsPerDm2: _, ...open } = demoPlanRequest('beaker', acidCopper.id);

function byClock(localTime: string): { question: PlanQuestion; target: DoneByTarget } {
  const target = {
    kind: 'done-by',
    goal,
    localTime,
    timeZone: 'Europe/Berlin',
    nowWallMs,
  } as const;
  return { question: { ...open, target }, target };
}

function solved(localTime: string, carried: number) {
  const { question, target } = byClock(localTime);
  return solvedForRest(question, target, carried, acidCopper, tank);
}

function planOf(question: PlanQuestion) {
  const result = planRun(question, acidCopper, tank);
  if (!result.ok) throw new Error(JSON.stringify(result.problems));
  return result.plan;
}

const whole = planOf({ ...open, target: goal }).targetChargeAmpHours;

describe('a run that carries on to a time of day', () => {
  it.each([0.1, 0.3, 0.5])('with %d of its charge there ends at that time', (share) => {
    const { request, problems } = solved('17:30', share * whole);
    expect(problems).toEqual([]);
    const left = leftOf(planOf(request), share * whole);
    expect(left.durationMs / (5.5 * hourMs)).toBeCloseTo(1, 6);
  });

  it('from nothing has the density that the daemon solves for the whole', () => {
    const { question } = byClock('21:00');
    expect(solved('21:00', 0).request.densityAmpsPerDm2).toBeCloseTo(
      planOf(question).request.densityAmpsPerDm2,
      9,
    );
  });

  it('is never run below the foot of the window', () => {
    const { request } = solved('11:00', 0.9 * whole);
    expect(request.densityAmpsPerDm2).toBe(acidCopper.window.minAmpsPerDm2);
  });

  it('is refused where it cannot be in time, with a time that can', () => {
    const [found] = solved('12:30', 0.2 * whole).problems;
    expect(found).toMatchObject({ field: 'target.localTime', value: '12:30' });
    const earliest = /^(\d\d:\d\d) on Wednesday 25 November or later$/.exec(found?.bound ?? '');
    expect(solved(earliest?.[1] ?? '', 0.2 * whole).problems).toEqual([]);
  });

  it('leaves a time that cannot be read to the daemon', () => {
    const { request, problems } = solved('later', 0);
    expect(problems).toEqual([]);
    expect(request.target.kind).toBe('done-by');
  });
});

describe('what is left at a density', () => {
  it('is nothing where the target is reached, and less the faster it goes', () => {
    const rest = restOf({ ...open, target: goal }, goal, 0.4 * whole, acidCopper, tank);
    expect(rest.durationMs(1)).toBeGreaterThan(rest.durationMs(2));
    expect(slowestFor(rest, 0.5, 60_000)).toBeNull();
    const done = restOf({ ...open, target: goal }, goal, 2 * whole, acidCopper, tank);
    expect(done.durationMs(1)).toBe(0);
  });

  it('keeps within what the tank may carry', () => {
    const rest = restOf({ ...open, target: goal }, goal, 0, acidCopper, { ...tank, maxAmps: 0.5 });
    expect(rest.mostAmpsPerDm2).toBeLessThan(acidCopper.window.maxAmpsPerDm2);
    const { holdEndAmps } = planOf({
      ...open,
      target: goal,
      densityAmpsPerDm2: rest.mostAmpsPerDm2,
    });
    expect(holdEndAmps).toBeLessThan(0.5);
  });

  it('ends at a final size as well', () => {
    const size = {
      kind: 'final-size',
      partIndex: 2,
      dimension: 'wireDiameterMm',
      mm: 3.47,
    } as const;
    const question = { ...open, target: size };
    const rest = restOf(question, size, 0.5 * whole, acidCopper, tank);
    const left = leftOf(planOf({ ...question, densityAmpsPerDm2: 1.2 }), 0.5 * whole);
    expect(rest.durationMs(1.2)).toBeCloseTo(left.durationMs, 0);
  });
});
