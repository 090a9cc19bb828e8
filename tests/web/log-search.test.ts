/** The log's own routes on a real file: searching it, the small picture of a run, alarms, events as CSV. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, onTestFinished, test } from 'vitest';
import { openStoreReader } from '../../daemon/store/door.ts';
import { curvePoints, spread } from '../../daemon/web/portrait.ts';
import { problemDocumentSchema } from '../../daemon/web/problem.ts';
import { alarmsSchema } from '../../daemon/web/schemas.ts';
import { logPageSchema, portraitSchema, runFolderSchema } from '../../daemon/wire/log.ts';
import { runRecordSchema } from '../../daemon/wire/run.ts';
import { writeLog, type Night } from '../store/a-log.ts';
import { startWallMs, webUnderTest } from './fixture.ts';

const hourMs = 3_600_000;

const nights: readonly Night[] = [
  {
    id: 'head',
    armedWallMs: startWallMs,
    targetMicrometres: 90,
    lifts: [1.5],
    everyMs: 5000,
  },
  {
    id: 'twig',
    piece: 'Larch twig',
    armedWallMs: startWallMs + 24 * hourMs,
    end: 'tripped',
    hours: 1,
    parts: [
      {
        kind: 'wire',
        label: 'stem',
        count: 1,
        platedFraction: 1,
        sizes: { wireDiameterMm: 2, lengthMm: 90 },
      },
    ],
  },
  { id: 'check', armedWallMs: startWallMs + 48 * hourMs, kind: 'probe' },
];

async function served() {
  const folder = mkdtempSync(join(tmpdir(), 'nightbath-log-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  const path = join(folder, 'nightbath.sqlite');
  writeLog(path, nights);
  const file = openStoreReader(path);
  onTestFinished(() => file.close());
  return webUnderTest({ file });
}

test('a search is answered by a page of it', async () => {
  const web = await served();
  const ids = async (query: string): Promise<readonly string[]> => {
    const reply = await web.ask('GET', `/api/log${query}`);
    return logPageSchema.parse(reply.json()).runs.map(({ id }) => id);
  };
  expect(await ids('')).toEqual(['check', 'twig', 'head']);
  expect(await ids('?limit=1&skip=1')).toEqual(['twig']);
  expect(await ids('?piece=larch')).toEqual(['twig']);
  expect(await ids('?result=tripped')).toEqual(['twig']);
  expect(await ids('?result=probe')).toEqual(['check']);
  expect(await ids(`?from=${startWallMs + 24 * hourMs}`)).toEqual(['check', 'twig']);
  expect(await ids(`?to=${startWallMs + 1}`)).toEqual(['head']);
  expect(await ids('?tank=other')).toEqual([]);
});

test.each([
  [`piece=${'x'.repeat(81)}`, 'piece', 'at most 80'],
  ['bath=', 'bath', 'at least 1'],
  ['result=broken', 'result', 'one of reached, stopped, tripped, interrupted, running, probe'],
  ['from=yesterday', 'from', 'a whole number'],
  ['from=10&to=10', 'to', 'later than from'],
  ['skip=-1', 'skip', 'a whole number'],
  ['skip=1000001', 'skip', 'at most 1000000'],
  ['limit=101', 'limit', 'at most 100'],
  ['colour=red', 'colour', 'no field of that name'],
])('/api/log?%s is refused with the field and the bound', async (query, field, bound) => {
  const web = await webUnderTest();
  const reply = await web.ask('GET', `/api/log?${query}`);
  expect(reply.status).toBe(422);
  const { problems } = problemDocumentSchema.parse(reply.json());
  expect(problems[0]?.field).toBe(field);
  expect(problems[0]?.bound).toContain(bound);
});

describe('the portrait of a run', () => {
  test('has a ring for each hour of growth, a gap for a lift, and curves that end with the run', async () => {
    const web = await served();
    const portrait = portraitSchema.parse((await web.ask('GET', '/api/runs/head/portrait')).json());
    const { rings, atMs, amps, thicknessMicrometres } = portrait;
    expect(rings.section).toEqual({ shape: 'round', diameterMm: 22 });
    expect(rings.targetMicrometres).toBe(90);
    expect(rings.grown.value).toBeGreaterThan(89);
    const hoursGrown = ((atMs.at(-1) ?? 0) - 600_000) / hourMs;
    expect(rings.hours).toHaveLength(Math.floor(hoursGrown));
    expect(rings.lifts).toHaveLength(1);
    expect(rings.alarms).toEqual([]);
    expect(atMs.length).toBeLessThanOrEqual(curvePoints);
    expect(amps).toHaveLength(atMs.length);
    expect(thicknessMicrometres).toEqual(thicknessMicrometres.toSorted((a, b) => a - b));
    expect(amps).toContain(0);
  });

  test('has a notch where an alarm stood, and is small', async () => {
    const web = await served();
    const reply = await web.ask('GET', '/api/runs/twig/portrait');
    const { rings } = portraitSchema.parse(reply.json());
    expect(rings.alarms).toEqual([rings.grown.value]);
    expect(reply.text.length).toBeLessThan(4000);
  });

  test('of a run that never had a reading has no curve, and of no run there is none', async () => {
    const web = await served();
    const reply = await web.ask('GET', '/api/runs/check/portrait');
    expect(portraitSchema.parse(reply.json())).toMatchObject({ atMs: [], amps: [] });
    expect((await web.ask('GET', '/api/runs/none/portrait')).status).toBe(404);
  });
});

test('the cut through each part of a piece comes in the order of its parts', async () => {
  const web = await served();
  const sections = (await web.ask('GET', '/api/runs/head/sections')).json() as unknown[];
  const portrait = portraitSchema.parse((await web.ask('GET', '/api/runs/head/portrait')).json());
  const run = runRecordSchema.parse((await web.ask('GET', '/api/runs/head')).json());
  expect(sections).toHaveLength(run.plan.request.piece.parts.length);
  expect(sections[run.plan.decidingPart]).toEqual(portrait.rings.section);
  expect((await web.ask('GET', '/api/runs/none/sections')).status).toBe(404);
});

test('all that shows a run comes in one answer, the same as piece by piece', async () => {
  const web = await served();
  for (const id of ['twig', 'check']) {
    const path = `/api/runs/${id}`;
    const whole = await web.ask('GET', `${path}/folder?points=200`);
    const folder = runFolderSchema.parse(whole.json());
    const alone = async (rest: string) => (await web.ask('GET', `${path}${rest}`)).json();
    expect(folder).toEqual({
      record: await alone(''),
      series: await alone('/series?buckets=200'),
      events: await alone('/events'),
      alarms: await alone('/alarms'),
      sensors: await alone('/sensors?points=200'),
      sections: await alone('/sections'),
    });
  }
  expect((await web.ask('GET', '/api/runs/none/folder')).status).toBe(404);
});

test('alarms of a run are read by themselves, its events also as CSV', async () => {
  const web = await served();
  const alarms = await web.ask('GET', '/api/runs/twig/alarms');
  expect(alarmsSchema.parse(alarms.json())).toMatchObject([{ runId: 'twig', code: 'openCircuit' }]);
  expect((await web.ask('GET', '/api/runs/head/alarms')).json()).toEqual([]);
  expect((await web.ask('GET', '/api/runs/none/alarms')).status).toBe(404);
  const csv = await web.ask('GET', '/api/runs/twig/events-export.csv');
  expect(csv.headers['content-disposition']).toBe('attachment; filename="run-twig.events.csv"');
  const lines = csv.text.trim().split('\r\n');
  expect(lines[0]).toMatch(/^event,elapsed_ms,.*,message$/);
  expect(lines.at(-1)).toContain('openCircuit,Open circuit.');
});

test('moments are spread over the time of a run, its first and last among them', () => {
  const even = Array.from({ length: 1000 }, (_, index) => index * 10);
  expect(spread(even, 11)).toEqual([0, 100, 200, 300, 400, 500, 600, 700, 800, 900, 999]);
  expect(spread([0, 5, 7], 11)).toEqual([0, 1, 2]);
  expect(spread([], 11)).toEqual([]);
  // A gap takes no moments of its own.
  const gap = [...Array.from({ length: 100 }, (_, index) => index), 10_000];
  expect(spread(gap, 11)).toEqual([0, 100]);
});
