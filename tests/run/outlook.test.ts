/** What is said beside a plan, and a run that carries on to a time of day, as the daemon answers both. */

import { describe, expect, it } from 'vitest';
import { demoPlanRequest } from '../../daemon/run/demo.ts';
import { measurePiece } from '../../daemon/run/measured-piece.ts';
import { planAhead, thicknessByHour } from '../../daemon/run/outlook.ts';
import { plannedSchema } from '../../daemon/wire/outlook.ts';
import { acidCopper, tank } from '../dashboard/plan-samples.ts';

const request = demoPlanRequest('beaker', acidCopper.id);

describe('the hours of a plan', () => {
  it('follow the stages: narrow while it strikes, even while it holds', () => {
    const [first = 0, second = 0, third = 0, fourth = 0] = thicknessByHour({
      stages: [
        { kind: 'strike', startAmpsPerDm2: 0.2, endAmpsPerDm2: 0.2, durationMs: 3_600_000 },
        { kind: 'hold', startAmpsPerDm2: 1, endAmpsPerDm2: 1, durationMs: 3 * 3_600_000 },
      ],
      durationMs: 4 * 3_600_000,
      thicknessMicrometres: { value: 32, low: 30, high: 34 },
    });
    expect(first).toBeCloseTo(2, 9);
    expect(second).toBeCloseTo(12, 9);
    expect(third).toBeCloseTo(22, 9);
    expect(fourth).toBeCloseTo(32, 9);
  });
});

describe('the outlook of a plan', () => {
  it('crosses the wire whole, with nothing left where the run begins from nothing', () => {
    const planned = planAhead(request, acidCopper, tank, {});
    expect(plannedSchema.parse(JSON.parse(JSON.stringify(planned)))).toEqual(planned);
    expect(planned.ok && planned.outlook.left).toBeNull();
    const carried = planAhead(request, acidCopper, tank, { carriedAmpHours: 0 });
    const { plan, outlook } = carried.ok ? carried : { plan: null, outlook: null };
    expect(outlook?.left?.ampHours).toBe(plan?.targetChargeAmpHours);
  });

  it('has the time of day for what is left only', () => {
    const target = {
      kind: 'done-by',
      goal: { kind: 'thickness', micrometres: 135 },
      localTime: '17:30',
    } as const;
    const { densityAmpsPerDm2: _, ...open } = request;
    const place = { timeZone: 'Europe/Berlin', nowWallMs: Date.UTC(2026, 10, 25, 11, 0) };
    const asked = { ...open, target };
    const planned = planAhead(asked, acidCopper, tank, { ...place, carriedAmpHours: 0.3 });
    if (!planned.ok) throw new Error(JSON.stringify(planned.problems));
    expect(planned.plan.request.target).toEqual(target.goal);
    // Noon until half past five.
    expect((planned.outlook.left?.durationMs ?? 0) / (5.5 * 3_600_000)).toBeCloseTo(1, 6);
    const wrong = { ...asked, piece: { ...open.piece, parts: [] } };
    const refused = planAhead(wrong, acidCopper, tank, { ...place, carriedAmpHours: 0.3 });
    expect(refused.ok || refused.problems[0]?.field).toBe('piece.parts');
  });
});

describe('a piece that is measured', () => {
  it('has the parts that are sound while another is not, and no whole', () => {
    const [first, ...others] = request.piece.parts;
    if (!first) throw new Error('The demo has a part.');
    const sizes = Object.fromEntries(Object.keys(first.sizes).map((name) => [name, Number.NaN]));
    const found = measurePiece({ ...request.piece, parts: [{ ...first, sizes }, ...others] });
    expect(found.whole).toBeNull();
    expect(found.parts[0]).toBeNull();
    expect(found.parts[1]?.areaMm2).toBeGreaterThan(0);
    expect(found.problems.every(({ field }) => field.startsWith('parts[0].sizes.'))).toBe(true);
  });
});
