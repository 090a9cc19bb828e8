/** Sends bad numbers to the planner and reads what it says of them. */

import { describe, expect, test } from 'vitest';
import type { Problem } from '../../daemon/piece/model.ts';
import type { PlanRequest, Target } from '../../daemon/run/model.ts';
import { planRun } from '../../daemon/run/plan.ts';
import { planResultSchema } from '../../daemon/wire/plan.ts';
import { type Changes, flat, inputs, part, pieceOf, stillCopper } from './plan-fixtures.ts';

function problemsOf(changes: Changes): readonly Problem[] {
  const { request, bath, tank } = inputs(changes);
  const result = planRun(request, bath, tank);
  if (!result.ok) {
    expect(() => planResultSchema.parse(result)).not.toThrow();
  }
  return result.ok ? [] : result.problems;
}

/** The inputs of a plan as they come out of JSON that nobody checked. */
function problemsOfJson(change: (inputs: Record<string, Record<string, unknown>>) => void) {
  const loose = JSON.parse(JSON.stringify(inputs({})));
  change(loose);
  const result = planRun(loose.request, loose.bath, loose.tank);
  return result.ok ? [] : result.problems;
}

const bad: readonly (readonly [string, number])[] = [
  ['NaN', Number.NaN],
  ['zero', 0],
  ['negative', -1.5],
  ['infinite', Number.POSITIVE_INFINITY],
  ['absurd', 9.9e37],
];

const targets: readonly (readonly [string, (value: number) => Target])[] = [
  ['target.micrometres', (micrometres) => ({ kind: 'thickness', micrometres })],
  ['target.grams', (grams) => ({ kind: 'mass', grams })],
  ['target.ampHours', (ampHours) => ({ kind: 'charge', ampHours })],
  ['target.hours', (hours) => ({ kind: 'time', hours })],
];

const trickle = (densityAmpsPerDm2: number, maxHours: number): Partial<PlanRequest> => ({
  trickle: { densityAmpsPerDm2, maxHours },
});

/** Every number of a request, tank and bath, and how to set it. */
const fields: readonly (readonly [string, (value: number) => Changes])[] = [
  ['densityAmpsPerDm2', (value) => ({ request: { densityAmpsPerDm2: value } })],
  ...targets.map(
    ([field, target]) =>
      [field, (value: number): Changes => ({ request: { target: target(value) } })] as const,
  ),
  ['trickle.densityAmpsPerDm2', (value) => ({ request: trickle(value, 5) })],
  ['trickle.maxHours', (value) => ({ request: trickle(0.05, value) })],
  ['piece.parts[0].sizes.areaMm2', (value) => ({ request: { piece: pieceOf([flat(value)]) } })],
  ['tank.volumeLitres', (value) => ({ tank: { volumeLitres: value } })],
  ['tank.anodeAreaDm2', (value) => ({ tank: { anodeAreaDm2: value } })],
  ['tank.maxAmps', (value) => ({ tank: { maxAmps: value } })],
  ['tank.maxVolts', (value) => ({ tank: { maxVolts: value } })],
  ['tank.maxHours', (value) => ({ tank: { maxHours: value } })],
  ['tank.supply.maxAmps', (value) => ({ supply: { maxAmps: value } })],
  ['tank.supply.stepAmps', (value) => ({ supply: { stepAmps: value } })],
  ['tank.supply.maxVolts', (value) => ({ supply: { maxVolts: value } })],
  ['tank.supply.stepVolts', (value) => ({ supply: { stepVolts: value } })],
  [
    'bath.window.maxAmpsPerDm2',
    (value) => ({
      bath: { ...stillCopper, window: { ...stillCopper.window, maxAmpsPerDm2: value } },
    }),
  ],
  [
    'bath.conductivity.siemensPerMetre',
    (value) => ({
      bath: { ...stillCopper, conductivity: { siemensPerMetre: value, source: 'x' } },
    }),
  ],
];

describe.each(fields)('%s', (field, change) => {
  test.each(bad)('that is %s is named with its value and its bound', (_, value) => {
    const problem = problemsOf(change(value)).find((found) => found.field === field);
    expect(problem?.value).toBe(String(field.endsWith('areaMm2') ? value * 10_000 : value));
    expect(problem?.bound).not.toBe('');
    expect(problem?.message).toContain(field);
    expect(problem?.message).toContain(problem?.value);
    expect(problem?.message).toContain(problem?.bound);
  });
});

const fieldsOf = (changes: Changes) => problemsOf(changes).map(({ field }) => field);

describe('other nonsense', () => {
  test('a missing number is called missing', () => {
    const [problem] = problemsOfJson(({ tank }) => delete tank?.['volumeLitres']);
    expect(problem?.field).toBe('tank.volumeLitres');
    expect(problem?.value).toBe('missing');
  });

  test('a number sent as text is no number', () => {
    const [problem] = problemsOfJson(({ request }) =>
      Object.assign(request ?? {}, { densityAmpsPerDm2: '1.5' }),
    );
    expect(problem?.value).toBe('"1.5"');
  });

  test('an unknown paint, target or part is told what there is', () => {
    const [paint] = problemsOfJson(({ request }) =>
      Object.assign(request ?? {}, { paint: 'gold' }),
    );
    expect(paint?.message).toContain('one of none, silver, copper, graphite');
    const [target] = problemsOfJson(({ request }) =>
      Object.assign(request ?? {}, { target: { kind: 'colour' } }),
    );
    expect(target?.message).toContain('one of thickness, mass, charge, time');
    const piece = pieceOf([part('doughnut', {})]);
    expect(fieldsOf({ request: { piece } })).toEqual(['piece.parts[0].kind']);
  });

  test('an unknown metal is told what there is', () => {
    const [problem] = problemsOfJson(({ bath }) =>
      Object.assign(bath ?? {}, { metal: 'unobtainium' }),
    );
    expect(problem?.field).toBe('bath.metal');
    expect(problem?.message).toContain('copper-II');
  });

  test('a piece without parts, or with a tenfold share of area, is refused', () => {
    expect(fieldsOf({ request: { piece: pieceOf([]) } })).toEqual(['piece.parts']);
    expect(fieldsOf({ request: { piece: pieceOf([flat(0.3)], 10) } })).toEqual([
      'piece.areaUncertainty',
    ]);
  });

  test('the wrong bath or tank is not planned in silence', () => {
    expect(fieldsOf({ request: { bathId: 'other', tankId: 'other' } })).toEqual([
      'bathId',
      'tankId',
    ]);
  });

  test('meter doubt and least current have bounds of their own', () => {
    expect(fieldsOf({ supply: { meterUncertainty: 0.9 } })).toEqual([
      'tank.supply.meterUncertainty',
    ]);
    expect(fieldsOf({ supply: { minAmps: -1 } })).toEqual(['tank.supply.minAmps']);
  });

  test('everything wrong is said at once', () => {
    const changes: Changes = {
      request: { densityAmpsPerDm2: -1, target: { kind: 'mass', grams: 0 } },
      tank: { maxAmps: Number.NaN },
    };
    expect(fieldsOf(changes)).toEqual(['densityAmpsPerDm2', 'target.grams', 'tank.maxAmps']);
  });

  // Cyanide baths belong to licensed shops: no plan is made at all.
  test('a bath for licensed shops gets no plan and the reason', () => {
    const bath = { ...stillCopper, name: 'Cyanide copper strike' };
    const [problem] = problemsOf({ bath });
    expect(problem?.field).toBe('bath.name');
    expect(problem?.message).toContain('licensed');
  });

  test('extremes that are allowed still make a plan of finite numbers', () => {
    for (const densityAmpsPerDm2 of [0.0001, 1000]) {
      for (const areaDm2 of [0.0001, 900]) {
        for (const micrometres of [0.01, 10_000]) {
          const request = {
            piece: pieceOf([flat(areaDm2)], 0.9),
            densityAmpsPerDm2,
            target: { kind: 'thickness', micrometres } as const,
          };
          const { request: asked, bath, tank } = inputs({ request });
          const result = planRun(asked, bath, tank);
          expect(result.ok).toBe(true);
          expect(() => planResultSchema.parse(result)).not.toThrow();
        }
      }
    }
  });
});

test.each([0, 1.5, Number.NaN, 1001])('%f contact points are refused', (points) => {
  const { request, bath, tank } = inputs({ request: { contact: { points, farthestMm: 10 } } });
  const result = planRun(request, bath, tank);
  expect(result).toMatchObject({ ok: false, problems: [{ field: 'contact.points' }] });
});
