/** Every route that reads: its answer fits the schema that the OpenAPI table promises. */

import { describe, expect, test } from 'vitest';
import { aChannel } from '../alerts/quiet-alerts.ts';
import { endpoints } from '../../daemon/web/endpoints.ts';
import { problemDocumentSchema } from '../../daemon/web/problem.ts';
import { partsSchema, runsSchema } from '../../daemon/web/schemas.ts';
import { plannedSchema } from '../../daemon/wire/outlook.ts';
import { seriesSchema } from '../../daemon/wire/run.ts';
import { wireVersion } from '../../daemon/wire/version.ts';
import {
  alarm,
  baths,
  eventRow,
  HandControl,
  HandReader,
  interruptedRun,
  planRequest,
  settings,
  startWallMs,
  tankSnapshot,
  webUnderTest,
} from './fixture.ts';
import type { WebUnderTest } from './fixture.ts';

/** Asks, and holds the answer against the promised schema of its status. */
async function read(web: WebUnderTest, path: string, pattern = path): Promise<unknown> {
  const reply = await web.ask('GET', path);
  const endpoint = endpoints.find((known) => known.method === 'get' && known.path === pattern);
  const promised = endpoint?.answers[reply.status]?.schema;
  if (promised === undefined) throw new Error(`${pattern} promises no ${reply.status}.`);
  expect(promised.safeParse(reply.json()).error).toBeUndefined();
  expect(reply.headers['content-type']).toBe('application/json');
  expect(reply.headers['cache-control']).toBe('no-store');
  return reply.json();
}

describe('the bench by GET', () => {
  test('shows tanks and baths, and that control is there', async () => {
    const web = await webUnderTest();
    expect(await read(web, '/api/bench')).toMatchObject({
      wireVersion,
      studio: 'Teasel Lane, demonstration studio',
      controlAlive: true,
      tanks: [{ id: 'beaker', output: 'confirmedOff' }],
      baths: baths.map(({ id }) => ({ id })),
    });
  });

  test('keeps the last known tanks while control is away, and says that it is', async () => {
    const web = await webUnderTest();
    web.control.push({ type: 'tank', tank: tankSnapshot({ output: 'on' }) });
    web.control.turn(false);
    expect(await read(web, '/api/bench')).toMatchObject({
      controlAlive: false,
      tanks: [{ id: 'beaker', output: 'on' }],
    });
  });

  test('shows the runs that wait for a decision, also to a page that comes later', async () => {
    const web = await webUnderTest();
    expect(await read(web, '/api/interrupted')).toEqual([]);
    web.control.push({ type: 'interrupted', runs: [interruptedRun()] });
    const runs = [{ runId: 'run-1', tankName: 'Beaker', hindrance: null }];
    expect(await read(web, '/api/interrupted')).toMatchObject(runs);
    expect(await read(web, '/api/bench')).toMatchObject({ interrupted: runs });
    web.control.push({ type: 'interrupted', runs: [] });
    expect(await read(web, '/api/interrupted')).toEqual([]);
  });

  test('reads the tanks anew when control is back', async () => {
    const web = await webUnderTest();
    web.control.turn(false);
    web.control.tanks = [tankSnapshot({ id: 'sink', name: 'Sink' })];
    web.control.turn(true);
    await new Promise((resolve) => setImmediate(resolve));
    expect(await read(web, '/api/tanks')).toMatchObject([{ id: 'sink' }]);
  });

  test('lists tanks in the order of the settings, and one by its name', async () => {
    const control = new HandControl();
    control.tanks = [tankSnapshot({ id: 'second', name: 'Second' }), tankSnapshot()];
    const [tank] = settings.tanks;
    if (tank === undefined) throw new Error('The settings hold no tank.');
    const two = { ...settings, tanks: [tank, { ...tank, id: 'second', name: 'Second' }] };
    const web = await webUnderTest({ control, settings: two });
    expect(await read(web, '/api/tanks')).toMatchObject([{ id: 'beaker' }, { id: 'second' }]);
    expect(await read(web, '/api/tanks/second', '/api/tanks/:id')).toMatchObject({ id: 'second' });
  });

  test('gives the baths and the kinds of parts as data', async () => {
    const web = await webUnderTest();
    expect(await read(web, '/api/baths')).toEqual(baths);
    const parts = partsSchema.parse(await read(web, '/api/parts'));
    expect(parts.map(({ kind }) => kind)).toContain('wire');
    expect(parts.find(({ kind }) => kind === 'ball')?.fields).toMatchObject([
      { name: 'diameterMm', unit: 'mm', min: 0.1, max: 1000 },
    ]);
  });
});

describe('the log by GET', () => {
  test('lists runs, filtered by tank and time', async () => {
    const web = await webUnderTest();
    const ids = async (search: string): Promise<unknown> =>
      runsSchema.parse(await read(web, `/api/runs${search}`, '/api/runs')).map(({ id }) => id);
    expect(await ids('')).toEqual(['run-1']);
    expect(await ids('?tank=beaker&limit=1')).toEqual(['run-1']);
    expect(await ids('?tank=other')).toEqual([]);
    expect(await ids(`?before=${startWallMs}`)).toEqual([]);
    expect(await ids(`?before=${startWallMs + 1}`)).toEqual(['run-1']);
  });

  test('gives a run, its readings by page, its series and its events', async () => {
    const web = await webUnderTest();
    expect(await read(web, '/api/runs/run-1', '/api/runs/:id')).toEqual(web.reader.record);
    const readings = '/api/runs/:id/readings';
    expect(await read(web, '/api/runs/run-1/readings', readings)).toEqual(web.reader.rows);
    expect(await read(web, '/api/runs/run-1/readings?from=500&limit=2', readings)).toEqual(
      web.reader.rows.slice(2, 4),
    );
    const path = '/api/runs/run-1/series?buckets=10';
    const series = seriesSchema.parse(await read(web, path, '/api/runs/:id/series'));
    expect(series.runId).toBe('run-1');
    expect(series.atMs).toHaveLength(10);
    const events = await read(web, '/api/runs/run-1/events', '/api/runs/:id/events');
    expect(events).toEqual([eventRow()]);
  });

  test('lists alarms and events of all runs', async () => {
    const web = await webUnderTest();
    expect(await read(web, '/api/alarms')).toEqual([alarm()]);
    expect(await read(web, '/api/events?limit=5', '/api/events')).toEqual([eventRow()]);
  });

  test.each([
    ['/api/runs?limit=0', 'limit', '"0"', 'at least 1'],
    ['/api/runs?limit=201', 'limit', '"201"', 'at most 200'],
    ['/api/runs?limit=ten', 'limit', '"ten"', 'a whole number'],
    ['/api/runs?limit=1e2', 'limit', '"1e2"', 'a whole number'],
    ['/api/runs?before=-1', 'before', '"-1"', 'a whole number'],
    ['/api/runs?tank=a%20b', 'tank', '"a b"', 'text that matches /^[A-Za-z0-9_-]{1,64}$/'],
    ['/api/runs?colour=red', 'colour', '"red"', 'no field of that name'],
    ['/api/runs/run-1/readings?limit=5001', 'limit', '"5001"', 'at most 5000'],
    [
      '/api/runs/run-1/readings?from=99999999999999999',
      'from',
      '"99999999999999999"',
      'a whole number',
    ],
    ['/api/runs/run-1/series?buckets=0', 'buckets', '"0"', 'at least 1'],
    ['/api/runs/run-1/sensors?points=3', 'points', '"3"', 'at least 4'],
    ['/api/runs/run-1/folder?points=5001', 'points', '"5001"', 'at most 5000'],
    ['/api/alarms?limit=501', 'limit', '"501"', 'at most 500'],
  ])('%s is refused with the field, the value and the bound', async (path, field, value, bound) => {
    const web = await webUnderTest();
    const reply = await web.ask('GET', path);
    expect(reply.status).toBe(422);
    const problem = problemDocumentSchema.parse(reply.json());
    expect(problem.problems).toMatchObject([{ field, value, bound }]);
    expect(problem.detail).toBe(problem.problems[0]?.message);
  });

  test.each([
    '/api/runs/none',
    '/api/runs/none/readings',
    '/api/runs/none/series',
    '/api/runs/none/events',
    '/api/runs/none/export.csv',
    '/api/runs/none/export.json',
    '/api/tanks/none',
    '/api/none',
    '/none.txt',
  ])('%s is not found', async (path) => {
    const web = await webUnderTest();
    const reply = await web.ask('GET', path);
    expect(reply.status).toBe(404);
    expect(reply.headers['content-type']).toBe('application/problem+json');
    expect(problemDocumentSchema.parse(reply.json()).type).toBe('urn:nightbath:problem:notFound');
  });

  test('a log that cannot be read is 503 with the reason, and serves again once it can', async () => {
    const web = await webUnderTest();
    web.reader.failing = true;
    const reply = await web.ask('GET', '/api/runs');
    expect(reply.status).toBe(503);
    expect(reply.headers['retry-after']).toBe('2');
    expect(problemDocumentSchema.parse(reply.json()).detail).toContain('do not fit together');
    web.reader.failing = false;
    expect((await web.ask('GET', '/api/runs')).status).toBe(200);
  });

  test('an error that nobody foresaw is 500 and tells no secrets', async () => {
    const reader = new HandReader();
    reader.runs = () => {
      throw new Error('secret path /home/somebody');
    };
    const web = await webUnderTest({ reader });
    const reply = await web.ask('GET', '/api/runs');
    expect(reply.status).toBe(500);
    expect(problemDocumentSchema.parse(reply.json()).problems).toEqual([]);
    expect(reply.text).not.toContain('somebody');
  });
});

describe('plans', () => {
  test('a piece in a bath is planned by the web process itself', async () => {
    const web = await webUnderTest();
    const reply = await web.ask('POST', '/api/plans', { body: planRequest() });
    expect(reply.status).toBe(200);
    // 4 pi r^2 of a ball of 22 mm is 15.205 cm2.
    const result = plannedSchema.parse(reply.json());
    expect(result.ok && result.plan.growth.areaMm2).toBeCloseTo(1520.53, 1);
    expect(web.control.sent).toEqual([]);
  });

  test('is asked for without a key, for it changes nothing', async () => {
    const web = await webUnderTest();
    const headers = { 'idempotency-key': null };
    const reply = await web.ask('POST', '/api/plans', { body: planRequest(), headers });
    expect(reply.status).toBe(200);
  });

  test('an unknown tank and bath are both named with the known ones', async () => {
    const web = await webUnderTest();
    const body = { ...planRequest(), tankId: 'bucket', bathId: 'soup' };
    const reply = await web.ask('POST', '/api/plans', { body });
    expect(reply.status).toBe(422);
    expect(reply.json()).toMatchObject({
      ok: false,
      problems: [
        { field: 'tankId', value: '"bucket"', bound: 'one of beaker' },
        { field: 'bathId', value: '"soup"' },
      ],
    });
  });

  test('what the planner refuses is 422 with its problems', async () => {
    const web = await webUnderTest();
    const request = planRequest();
    const [part] = request.piece.parts;
    const parts = [{ ...part, sizes: { diameterMm: -3 } }];
    const body = { ...request, piece: { ...request.piece, parts } };
    const reply = await web.ask('POST', '/api/plans', { body });
    expect(reply.status).toBe(422);
    const result = plannedSchema.parse(reply.json());
    const [problem] = result.ok ? [] : result.problems;
    expect(problem?.field).toContain('diameterMm');
    expect(problem?.value).toContain('-3');
  });

  test('a body that is no plan request is 422 with its problems in the same place', async () => {
    const web = await webUnderTest();
    const body = { ...planRequest(), densityAmpsPerDm2: '2' };
    const reply = await web.ask('POST', '/api/plans', { body });
    expect(reply.status).toBe(422);
    expect(plannedSchema.parse(reply.json())).toMatchObject({
      ok: false,
      problems: [{ field: 'densityAmpsPerDm2', value: '"2"', bound: 'a finite number' }],
    });
  });

  test('while nothing is known of any tank there is no plan', async () => {
    const control = new HandControl();
    control.alive = false;
    const web = await webUnderTest({ control });
    const reply = await web.ask('POST', '/api/plans', { body: planRequest() });
    expect(reply.status).toBe(503);
  });
});

describe('about the program', () => {
  test('health says what works', async () => {
    const web = await webUnderTest();
    expect(await read(web, '/api/health')).toMatchObject({
      status: 'ok',
      controlAlive: true,
      logReadable: true,
      pages: 0,
      tanks: [{ id: 'beaker', link: 'connected', readingAgeMs: 0 }],
    });
    web.control.turn(false);
    web.reader.failing = true;
    expect(await read(web, '/api/health')).toMatchObject({
      status: 'degraded',
      controlAlive: false,
      logReadable: false,
    });
  });

  test('healthz answers whatever else is broken', async () => {
    const web = await webUnderTest();
    web.control.turn(false);
    web.reader.failing = true;
    expect(await read(web, '/healthz')).toEqual({ status: 'ok' });
  });

  test('readyz is 503 with the reasons until control, log and supply are there', async () => {
    const web = await webUnderTest();
    expect(await read(web, '/readyz')).toEqual({ ready: true, missing: [] });
    const { link } = tankSnapshot();
    const lost = tankSnapshot({ link: { ...link, state: 'lost' } });
    web.control.push({ type: 'tank', tank: lost });
    web.control.turn(false);
    expect((await web.ask('GET', '/readyz')).status).toBe(503);
    expect(await read(web, '/readyz')).toEqual({
      ready: false,
      missing: ['The control process is away.', 'The supply of Beaker by the window is away.'],
    });
  });

  test('a log that cannot be written is missed until it is well, whoever has acknowledged it', async () => {
    const web = await webUnderTest();
    const shown = { ...alarm(), code: 'databaseLost' };
    const missing = { ready: false, missing: ['The log cannot be written.'] };
    web.control.push({ type: 'tank', tank: tankSnapshot({ alarms: [shown] }) });
    expect(await read(web, '/readyz')).toEqual(missing);
    const quietAlarms = [{ ...shown, acknowledgedWallMs: 5 }];
    web.control.push({ type: 'tank', tank: tankSnapshot({ quietAlarms }) });
    expect(await read(web, '/readyz')).toEqual(missing);
    expect(await read(web, '/api/health')).toMatchObject({ status: 'degraded' });
    const over = [{ ...shown, clearedWallMs: 6 }];
    web.control.push({ type: 'tank', tank: tankSnapshot({ alarms: over }) });
    expect(await read(web, '/readyz')).toEqual({ ready: true, missing: [] });
    expect(await read(web, '/api/health')).toMatchObject({ status: 'ok' });
  });

  test('settings show what is in use and nothing that is not on the list', async () => {
    const hook = aChannel('phone', { url: 'https://push.example/hush' });
    const secret = { ...settings, alerts: { channels: [hook], deadMan: { url: 'https://hush' } } };
    const web = await webUnderTest({ settings: secret });
    expect(await read(web, '/api/settings')).toMatchObject({
      file: '/bench.toml',
      tanks: [{ id: 'beaker', maxAmps: 3, rectifier: { link: { kind: 'in-process' } } }],
    });
    expect((await web.ask('GET', '/api/settings')).text).not.toContain('hush');
  });

  test('whether a person would be told is asked of control', async () => {
    const web = await webUnderTest();
    const readiness = {
      outsideChannels: 1,
      confirmed: true,
      confirmedWallMs: startWallMs,
      sentence: 'The last test alert on "phone" was confirmed today.',
    };
    web.control.answer = async () => ({ ok: true, readiness });
    expect(await read(web, '/api/alerts/readiness')).toEqual(readiness);
    expect(web.control.sent.map(({ command }) => command.kind)).toEqual(['alert-readiness']);
    web.control.answer = async () => ({ ok: true });
    expect((await web.ask('GET', '/api/alerts/readiness')).status).toBe(503);
  });

  test('ports are asked of control', async () => {
    const web = await webUnderTest();
    const ports = [{ path: '/dev/ttyUSB0', stablePath: null, description: 'USB adapter' }];
    web.control.answer = async () => ({ ok: true, ports });
    expect(await read(web, '/api/ports')).toEqual(ports);
    expect(web.control.sent.map(({ command }) => command.kind)).toEqual(['ports']);
    web.control.turn(false);
    expect((await web.ask('GET', '/api/ports')).status).toBe(503);
  });

  test('the live socket asked for by plain GET says that an upgrade is needed', async () => {
    const web = await webUnderTest();
    const reply = await web.ask('GET', '/api/live');
    expect(reply.status).toBe(426);
    expect(reply.headers['upgrade']).toBe('websocket');
  });

  test('a known address under the wrong method names the right one', async () => {
    const web = await webUnderTest();
    const post = await web.ask('POST', '/api/bench', { body: {} });
    expect([post.status, post.headers['allow']]).toEqual([405, 'GET, HEAD']);
    const get = await web.ask('GET', '/api/tanks/beaker/arm');
    expect([get.status, get.headers['allow']]).toEqual([405, 'POST']);
  });

  test('HEAD gives the headers of GET and no body', async () => {
    const web = await webUnderTest();
    const reply = await web.ask('HEAD', '/api/bench');
    expect([reply.status, reply.text]).toEqual([200, '']);
  });

  test('every answer carries the security headers, refusals too', async () => {
    const web = await webUnderTest();
    for (const path of ['/api/bench', '/api/none', '/', '/api/runs?limit=x']) {
      const { headers } = await web.ask('GET', path);
      expect(headers['x-content-type-options'], path).toBe('nosniff');
      expect(headers['referrer-policy'], path).toBe('no-referrer');
      expect(headers['cross-origin-opener-policy'], path).toBe('same-origin');
      const policy = String(headers['content-security-policy']);
      expect(policy, path).toContain("default-src 'self'");
      expect(policy, path).toContain("frame-ancestors 'none'");
      expect(policy, path).toContain(`connect-src 'self' ws://${web.host}`);
      expect(policy, path).not.toMatch(/unsafe-|\*/);
    }
    const foreign = await web.ask('GET', '/', {
      headers: { host: "x; script-src 'unsafe-inline'" },
    });
    expect(String(foreign.headers['content-security-policy'])).not.toContain('unsafe-inline');
  });
});
