/** Densities side by side: the same plans as one by one, and what sets them apart. */

import { describe, expect, test } from 'vitest';
import { comparePlans, type ComparisonRow } from '../../daemon/run/plan-compare.ts';
import type { PlanQuestion } from '../../daemon/run/model.ts';
import { comparisonSchema } from '../../daemon/wire/compare.ts';
import { beaker, planned, stillCopper, twigRequest } from './plan-fixtures.ts';

const context = { nowWallMs: Date.parse('2026-11-25T20:00:00Z'), timeZone: 'Europe/Berlin' };

function rows(
  densities: readonly number[],
  question: PlanQuestion = twigRequest,
  hour: object = context,
): readonly ComparisonRow[] {
  const result = comparePlans(question, densities, stillCopper, beaker, hour);
  if (!result.ok) throw new Error(result.problems.map(({ message }) => message).join('\n'));
  expect(comparisonSchema.parse(JSON.parse(JSON.stringify(result)))).toEqual(result);
  return result.rows;
}

describe('densities side by side', () => {
  test('each take what their own plan takes', () => {
    for (const row of rows([1, 1.5, 2])) {
      const plan = planned({ request: { densityAmpsPerDm2: row.densityAmpsPerDm2 } });
      expect(row.durationMs).toBe(plan.durationMs);
      expect(row.holdEndAmps).toBe(plan.holdEndAmps);
      expect(row.endWallMs).toBe(context.nowWallMs + plan.durationMs);
    }
  });

  test('the slower one is the more even one', () => {
    const [slow, fast] = rows([0.5, 2]);
    expect((slow?.durationMs ?? 0) > (fast?.durationMs ?? 0)).toBe(true);
    // Both follow from kappa b / i: four times the density is a quarter, and half the reach.
    expect((slow?.wagnerAt10Mm ?? 0) / (fast?.wagnerAt10Mm ?? 1)).toBeCloseTo(4, 12);
    expect((slow?.recessReachMm ?? 0) / (fast?.recessReachMm ?? 1)).toBeCloseTo(2, 12);
  });

  test('say what burns and what stays dull', () => {
    const [dull, usual, burnt] = rows([0.1, 1.3, 4]);
    expect([dull?.dull, usual?.dull, burnt?.dull]).toEqual(['high', 'none', 'none']);
    expect([dull?.burning, usual?.burning, burnt?.burning]).toEqual(['none', 'none', 'high']);
    expect([usual?.startable, burnt?.startable]).toEqual([true, false]);
    expect(burnt?.against[0]).toContain('far above');
    expect(usual?.against).toEqual([]);
  });

  test('count the hours of the night, and leave them out where the hour is not known', () => {
    const [row] = rows([1.5, 2]);
    expect(row?.nightHours).toBeGreaterThan(5);
    expect(row?.endLocal).toMatch(/^\d\d:\d\d on Thursday 26 November$/);
    const [unknown] = rows([1.5, 2], twigRequest, {});
    expect([unknown?.endWallMs, unknown?.endLocal, unknown?.nightHours]).toEqual([
      null,
      null,
      null,
    ]);
  });

  test('of a target by the clock say which are in time', () => {
    const target = {
      kind: 'done-by',
      goal: { kind: 'thickness', micrometres: 150 },
      localTime: '07:00',
    } as const;
    const found = rows([0.8, 2], { ...twigRequest, target });
    expect(found.map(({ inTime }) => inTime)).toEqual([false, true]);
    expect(rows([0.8, 2]).map(({ inTime }) => inTime)).toEqual([null, null]);
  });

  test('by a time that is none are refused, and not shown without it', () => {
    const goal = { kind: 'thickness', micrometres: 150 } as const;
    const target = { kind: 'done-by', goal, localTime: '25:99' } as const;
    const result = comparePlans({ ...twigRequest, target }, [1, 2], stillCopper, beaker, context);
    expect(result).toMatchObject({ ok: false, problems: [{ field: 'target.localTime' }] });
  });

  test.each([[[1]], [[1, 1]], [[1, 2, 3, 4]], [[]]])('%j is refused', (densities) => {
    const result = comparePlans(twigRequest, densities, stillCopper, beaker, context);
    expect(result).toMatchObject({ ok: false, problems: [{ field: 'densitiesAmpsPerDm2' }] });
  });

  test('what cannot be planned is refused with the problems of the plan', () => {
    const result = comparePlans({ ...twigRequest, bathId: 'x' }, [1, 2], stillCopper, beaker);
    expect(result).toMatchObject({ ok: false, problems: [{ field: 'bathId' }] });
  });
});
