/** What a maker looks up over HTTP: materials, ring scales, gauges, and questions about sizes. */

import { describe, expect, test } from 'vitest';
import { endpoints } from '../../daemon/web/endpoints.ts';
import { gaugeTablesSchema, ringTablesSchema } from '../../daemon/web/schemas.ts';
import { materials, webUnderTest } from './fixture.ts';
import type { WebUnderTest } from './fixture.ts';

/** Asks, and holds the answer against the schema promised for its status. */
async function ask(web: WebUnderTest, method: 'GET' | 'POST', path: string, body?: unknown) {
  const reply = await web.ask(method, path, body === undefined ? {} : { body });
  const pattern = path.split('?')[0];
  const endpoint = endpoints.find(
    (known) => known.method === method.toLowerCase() && known.path === pattern,
  );
  const promised = endpoint?.answers[reply.status]?.schema;
  if (promised === undefined) throw new Error(`${path} promises no ${reply.status}.`);
  expect(promised.safeParse(reply.json()).error).toBeUndefined();
  return { status: reply.status, value: reply.json() };
}

describe('materials by GET', () => {
  test('are given whole', async () => {
    const web = await webUnderTest();
    expect((await ask(web, 'GET', '/api/materials')).value).toEqual(materials);
  });

  test('are found by a typed name, slips and all', async () => {
    const web = await webUnderTest();
    const { value } = await ask(web, 'GET', '/api/materials/search?name=peridott&limit=1');
    expect(value).toMatchObject([{ id: 'peridot' }]);
  });

  test('are judged together, the unknown with them', async () => {
    const web = await webUnderTest();
    const path = '/api/materials/judgement?ids=quartz,peridot,moon%20dust';
    expect((await ask(web, 'GET', path)).value).toMatchObject({
      verdict: 'keepOut',
      materials: [{ id: 'peridot' }, { id: 'moon dust', known: false }, { id: 'quartz' }],
    });
  });

  test.each([
    ['/api/materials/search', 'name'],
    ['/api/materials/search?name=opal&limit=0', 'limit'],
    ['/api/materials/judgement?ids=', 'ids'],
    [`/api/materials/judgement?ids=${'a,'.repeat(60)}a`, 'ids'],
  ])('refuse %s by name', async (path, field) => {
    const web = await webUnderTest();
    const reply = await web.ask('GET', path);
    expect(reply.status).toBe(422);
    expect(reply.json()).toMatchObject({ problems: [{ field }] });
  });
});

test('ring scales and gauges are given as tables', async () => {
  const web = await webUnderTest();
  const rings = ringTablesSchema.parse((await ask(web, 'GET', '/api/ring-scales')).value);
  expect(rings.map(({ scale }) => scale.id)).toEqual(['iso', 'us', 'uk', 'japan']);
  expect(rings[1]?.sizes.find(({ label }) => label === '7')?.insideDiameterMm).toBeCloseTo(
    0.682 * 25.4,
    9,
  );
  expect(rings[2]?.sizes.map(({ label }) => label).slice(0, 3)).toEqual(['A', 'A 1/2', 'B']);
  const gauges = gaugeTablesSchema.parse((await ask(web, 'GET', '/api/wire-gauges')).value);
  expect(gauges.map(({ gauges: rows }) => rows.length)).toEqual([44, 57]);
});

describe('questions about sizes', () => {
  test('are answered', async () => {
    const web = await webUnderTest();
    const question = { kind: 'ringSize', scale: 'us', typed: '7 1/2' };
    expect(await ask(web, 'POST', '/api/sizes', question)).toMatchObject({
      status: 200,
      value: { ok: true, value: { kind: 'ring', scales: [{}, { size: 7.5 }, {}, {}] } },
    });
  });

  test.each([
    [{ kind: 'wire', typed: '18' }, 'typed'],
    [{ kind: 'insideDiameter', insideDiameterMm: -3 }, 'insideDiameterMm'],
    [{ kind: 'ringSize', scale: 'moon', typed: '7' }, 'scale'],
    [{ kind: 'depositForWire', startDiameterMm: 2, finishedDiameterMm: 1 }, 'finishedDiameterMm'],
  ])('are refused by name: %j', async (question, field) => {
    const web = await webUnderTest();
    expect(await ask(web, 'POST', '/api/sizes', question)).toMatchObject({
      status: 422,
      value: { ok: false, problem: { field } },
    });
  });
});
