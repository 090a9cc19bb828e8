/** Plans and comparisons over HTTP: what is left open is filled in here, and answers keep their promise. */

import { describe, expect, test } from 'vitest';
import { endpoints } from '../../daemon/web/endpoints.ts';
import { comparisonSchema } from '../../daemon/wire/compare.ts';
import { plannedSchema } from '../../daemon/wire/outlook.ts';
import type { AdoptedEntry } from '../../daemon/store/door.ts';
import { baths, HandReader, planRequest, webUnderTest } from './fixture.ts';

const { densityAmpsPerDm2: _, ...open } = planRequest();

async function plan(body: object) {
  const web = await webUnderTest();
  const reply = await web.ask('POST', '/api/plans', { body });
  const result = plannedSchema.parse(reply.json());
  expect(reply.status).toBe(result.ok ? 200 : 422);
  return result;
}

async function compare(body: object) {
  const web = await webUnderTest();
  const reply = await web.ask('POST', '/api/plans/compare', { body });
  const endpoint = endpoints.find(({ path }) => path === '/api/plans/compare');
  expect(endpoint?.answers[reply.status]?.schema?.safeParse(reply.json()).error).toBeUndefined();
  const result = comparisonSchema.parse(reply.json());
  expect(reply.status).toBe(result.ok ? 200 : 422);
  return result;
}

describe('POST /api/plans', () => {
  test('takes the usual density where none is given, and a typed one with its unit', async () => {
    const usual = await plan(open);
    expect(usual.ok && usual.plan.densityFrom).toBe('window');
    const typed = await plan({ ...open, densityTyped: '0.1 A/in2' });
    expect(typed.ok && typed.plan.request.densityAmpsPerDm2).toBeCloseTo(1.55, 3);
  });

  test('goes by an efficiency that was taken over for this bath of this tank', async () => {
    const reader = new HandReader();
    const entry = { kind: 'efficiency', value: 0.5, uncertainty: 0.01, weighIns: 4, note: '' };
    const place = { tankId: open.tankId, bathId: open.bathId };
    const adopted = { ...place, entry, by: 'Mara', savedWallMs: 0 } as AdoptedEntry;
    Object.assign(reader.ledger, { adopted: () => [adopted] });
    const web = await webUnderTest({ reader });
    const asked = async (bathId: string) => {
      const reply = await web.ask('POST', '/api/plans', { body: { ...open, bathId } });
      const result = plannedSchema.parse(reply.json());
      if (!result.ok) throw new Error(result.problems[0]?.message);
      return result.plan;
    };
    const taken = await asked(open.bathId);
    expect(taken.bath.efficiency).toMatchObject({ value: 0.5, uncertainty: 0.01 });
    expect(taken.bath.efficiency.source).toContain('4 weigh-ins, taken over by Mara');
    const file = await plan(open);
    // Half of the metal from a charge: the same thickness takes twice what it would at 1.
    const ratio = 0.985 / 0.5;
    expect(file.ok && taken.targetChargeAmpHours / file.plan.targetChargeAmpHours).toBeCloseTo(
      ratio,
      6,
    );
    const others = baths.filter(({ id }) => id !== open.bathId);
    const other = others.find(({ metal }) => metal === 'copper-II')?.id ?? '';
    expect((await asked(other)).bath.efficiency.value).not.toBe(0.5);
  });

  test('reads a time of day on the clock and in the zone of this machine', async () => {
    const goal = { kind: 'thickness', micrometres: 60 };
    const before = Date.now();
    const result = await plan({ ...open, target: { kind: 'done-by', goal, localTime: '07:00' } });
    if (!result.ok) throw new Error(result.problems[0]?.message);
    const { doneBy, request } = result.plan;
    expect(doneBy?.startWallMs).toBeGreaterThanOrEqual(before);
    expect(doneBy?.startWallMs).toBeLessThanOrEqual(Date.now());
    expect(doneBy?.timeZone).toBe(Intl.DateTimeFormat().resolvedOptions().timeZone);
    const due = new Date(doneBy?.dueWallMs ?? 0);
    expect([due.getHours(), due.getMinutes()]).toEqual([7, 0]);
    expect(request.target).toMatchObject({ kind: 'done-by', nowWallMs: doneBy?.startWallMs });
  });

  test('judges the materials of the piece by the table', async () => {
    const piece = { ...planRequest().piece, materials: [{ id: 'lapis' }] };
    const refused = await plan({ ...open, piece });
    expect(refused.ok && refused.plan.notices[0]?.code).toBe('materialPoisons');
    const accepted = await plan({ ...open, piece, acceptMaterials: ['lapis'] });
    const codes = accepted.ok ? accepted.plan.notices.map(({ code }) => code) : accepted.problems;
    expect(codes).toContain('poisonAccepted');
    expect(codes).not.toContain('materialPoisons');
    const compared = await compare({ plan: { ...open, piece }, densitiesAmpsPerDm2: [1, 1.5] });
    expect(compared.ok && compared.rows.every(({ startable }) => !startable)).toBe(true);
  });

  test.each([
    [{ densityTyped: '1.5 furlongs' }, 'densityTyped'],
    [{ densityTyped: '' }, 'densityTyped'],
    [{ contact: { points: 0, farthestMm: 10 } }, 'contact.points'],
    [{ contact: { points: 1 } }, 'contact.farthestMm'],
    [{ acceptClosures: ['Lid'] }, 'acceptClosures[0]'],
    [{ target: { kind: 'final-size', partIndex: 99, dimension: 'x', mm: 1 } }, 'target.partIndex'],
    [
      {
        target: {
          kind: 'done-by',
          goal: { kind: 'time', hours: 8 },
          localTime: '07:00',
        },
      },
      'target.goal.kind',
    ],
  ])('%j is 422 by its field', async (change, field) => {
    const result = await plan({ ...open, ...change });
    expect(result).toMatchObject({ ok: false, problems: [{ field }] });
  });
});

describe('POST /api/plans/compare', () => {
  test('answers one row for each density, in their order', async () => {
    const result = await compare({ plan: open, densitiesAmpsPerDm2: [2, 1, 1.5] });
    if (!result.ok) throw new Error(result.problems[0]?.message);
    expect(result.rows.map((row) => row.densityAmpsPerDm2)).toEqual([2, 1, 1.5]);
    const [fast, slow] = result.rows;
    expect(fast?.durationMs).toBeLessThan(slow?.durationMs ?? 0);
    expect(fast?.endLocal).toMatch(/^\d\d:\d\d on /);
  });

  test.each([
    [{ plan: open, densitiesAmpsPerDm2: [1] }, 'densitiesAmpsPerDm2'],
    [{ plan: open, densitiesAmpsPerDm2: [1, 1] }, 'densitiesAmpsPerDm2'],
    [{ plan: open, densitiesAmpsPerDm2: [1, 0] }, 'densitiesAmpsPerDm2[1]'],
    [{ plan: open, densitiesAmpsPerDm2: [1, 2], colour: 'red' }, 'colour'],
    [{ plan: { ...open, bathId: 'soup' }, densitiesAmpsPerDm2: [1, 2] }, 'bathId'],
  ])('%# is 422 by its field', async (body, field) => {
    expect(await compare(body)).toMatchObject({ ok: false, problems: [{ field }] });
  });
});
