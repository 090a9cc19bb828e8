/** Commands by POST: what reaches control, and how its answers come back. */

import { describe, expect, test } from 'vitest';
import { problemDocumentSchema } from '../../daemon/web/problem.ts';
import type { CommandAnswer } from '../../daemon/wire/command.ts';
import { HandControl, planRequest, webUnderTest } from './fixture.ts';

const armBody = { plan: planRequest(), checklist: ['polarity', 'contact'], continues: null };
const onRun = { runId: 'run-1', version: 4 };
const probe = { probe: 'drill' };
const change = { ...onRun, change: { kind: 'density', ampsPerDm2: 1.2 }, confirmed: true };
const turning = { ...onRun, everyMinutes: 30 };
const note = { text: 'Dull.', picture: null };
const by = 'the page';
const tankId = 'beaker';

const commands = [
  ['/api/tanks/beaker/arm', armBody, { kind: 'arm', tankId, by, ...armBody }],
  ['/api/tanks/beaker/start', onRun, { kind: 'start', tankId, by, ...onRun }],
  ['/api/tanks/beaker/probe', probe, { kind: 'probe', tankId, by, ...probe }],
  ['/api/tanks/beaker/disarm', onRun, { kind: 'disarm', tankId, by, ...onRun }],
  ['/api/tanks/beaker/lift', onRun, { kind: 'lift', tankId, by, ...onRun }],
  ['/api/tanks/beaker/put-back', onRun, { kind: 'put-back', tankId, by, ...onRun }],
  ['/api/tanks/beaker/change', change, { kind: 'change', tankId, by, ...change }],
  ['/api/tanks/beaker/turning', turning, { kind: 'turn-every', tankId, by, ...turning }],
  ['/api/tanks/beaker/turned', onRun, { kind: 'turned', tankId, by, ...onRun }],
  ['/api/runs/run-1/notes', note, { kind: 'run-note', runId: 'run-1', by, note }],
  ['/api/tanks/beaker/demo', {}, { kind: 'demo', tankId, by }],
  ['/api/alarms/3/acknowledge', {}, { kind: 'acknowledge', alarmId: 3, by }],
  [
    '/api/runs/run-1/end',
    { note: 'It fell in.' },
    { kind: 'end-interrupted', runId: 'run-1', by, note: 'It fell in.' },
  ],
  // Shown before the disk had it.
  ['/api/alarms/-2/acknowledge', {}, { kind: 'acknowledge', alarmId: -2, by }],
] as const;

describe.each(commands)('%s', (path, body, command) => {
  test('reaches control once, with the key of the request', async () => {
    const web = await webUnderTest();
    web.control.answer = async () => ({ ok: true, runId: 'run-1', version: 5 });
    const headers = { 'idempotency-key': '0b9b6f3e-6f0d-4e5c-9a53-2f5f3a4ad001' };
    const reply = await web.ask('POST', path, { body, headers });
    expect([reply.status, reply.json()]).toEqual([200, { ok: true, runId: 'run-1', version: 5 }]);
    expect(web.control.sent).toEqual([{ command, key: '0b9b6f3e-6f0d-4e5c-9a53-2f5f3a4ad001' }]);
  });

  test.each([null, '', 'x'.repeat(101), 'a b', 'a\u00e9'])(
    'is refused with the key %j',
    async (key) => {
      const web = await webUnderTest();
      const reply = await web.ask('POST', path, { body, headers: { 'idempotency-key': key } });
      expect(reply.status).toBe(400);
      const [problem] = problemDocumentSchema.parse(reply.json()).problems;
      expect(problem?.field).toBe('idempotency-key');
      expect(web.control.sent).toEqual([]);
    },
  );

  test('is refused with an unknown field in its body', async () => {
    const web = await webUnderTest();
    const reply = await web.ask('POST', path, { body: { ...body, force: true } });
    expect(reply.status).toBe(422);
    expect(problemDocumentSchema.parse(reply.json()).problems).toMatchObject([{ field: 'force' }]);
    expect(web.control.sent).toEqual([]);
  });

  test('is 503 while control is away, and says that nothing was done', async () => {
    const control = new HandControl();
    control.alive = false;
    const web = await webUnderTest({ control });
    const reply = await web.ask('POST', path, { body });
    expect(reply.status).toBe(503);
    expect(problemDocumentSchema.parse(reply.json()).detail).toContain('nothing was done');
  });

  test('is 503 when control does not answer in time, and says that this is not known', async () => {
    const web = await webUnderTest({ commandTimeoutMs: 30 });
    web.control.answer = () => new Promise(() => undefined);
    const reply = await web.ask('POST', path, { body });
    expect(reply.status).toBe(503);
    expect(problemDocumentSchema.parse(reply.json()).detail).toContain('not known');
  });
});

describe('a refusal by control', () => {
  test.each([
    ['invalid', 422],
    ['refused', 409],
    ['stale', 409],
    ['notFound', 404],
    ['busy', 409],
    ['unavailable', 503],
  ] as const)('%s is %i with its reason and problems', async (code, status) => {
    const web = await webUnderTest();
    const problems = [{ field: 'version', value: '4', bound: '5', message: 'It is out of date.' }];
    const answer: CommandAnswer = { ok: false, code, reason: 'Not like this.', problems };
    web.control.answer = async () => answer;
    const reply = await web.ask('POST', '/api/tanks/beaker/start', { body: onRun });
    expect(reply.status).toBe(status);
    expect(reply.headers['content-type']).toBe('application/problem+json');
    expect(problemDocumentSchema.parse(reply.json())).toMatchObject({
      type: `urn:nightbath:problem:${code}`,
      status,
      detail: 'Not like this.',
      problems,
    });
  });
});

describe('stop', () => {
  const path = '/api/tanks/beaker/stop';

  test('says that the output was read back as off', async () => {
    const web = await webUnderTest();
    web.control.answer = async () => ({ ok: true, offConfirmed: true });
    const reply = await web.ask('POST', path, { body: {} });
    expect([reply.status, reply.json()]).toEqual([200, { ok: true, offConfirmed: true }]);
    expect(web.control.sent).toEqual([{ command: { kind: 'stop', tankId, by }, key: 'key-1' }]);
  });

  test.each([undefined, '', '{"half":', '[]', '{"force":true}', 'x'.repeat(200_000)])(
    'is obeyed with any body and without a key',
    async (body) => {
      const web = await webUnderTest();
      const reply = await web.ask('POST', path, { body, headers: { 'idempotency-key': null } });
      expect(reply.status).toBe(200);
      expect(web.control.sent).toHaveLength(1);
      expect(web.control.sent[0]?.key).toMatch(/^[0-9a-f-]{36}$/);
    },
  );

  test('that names a run reaches control with it, and says so where another is on', async () => {
    const web = await webUnderTest();
    const reason = 'Another run is on the tank by now.';
    web.control.answer = async () => ({ ok: false, code: 'stale', reason, problems: [] });
    const reply = await web.ask('POST', `${path}?runId=run-1`, { body: {} });
    expect(web.control.sent[0]?.command).toEqual({ kind: 'stop', tankId, by, runId: 'run-1' });
    expect([reply.status, problemDocumentSchema.parse(reply.json()).detail]).toEqual([409, reason]);
  });

  test.each(['?runId=', '?runId=not%20a%20run', '?force=true'])(
    '%s names no run',
    async (query) => {
      const web = await webUnderTest();
      web.control.answer = async () => ({ ok: true, offConfirmed: true });
      expect((await web.ask('POST', `${path}${query}`)).status).toBe(200);
      expect(web.control.sent[0]?.command).toEqual({ kind: 'stop', tankId, by });
    },
  );

  test('never claims an off that was not confirmed', async () => {
    const web = await webUnderTest();
    web.control.answer = async () => ({ ok: true });
    expect((await web.ask('POST', path)).json()).toEqual({
      ok: true,
      offConfirmed: false,
      message: 'Not confirmed. Switch the supply off by hand.',
    });
  });

  test('is tried even while control seems away, and then says what to do by hand', async () => {
    const web = await webUnderTest();
    let tries = 0;
    web.control.command = async () => {
      tries += 1;
      throw new Error('away');
    };
    web.control.turn(false);
    const reply = await web.ask('POST', path);
    expect(tries).toBe(1);
    expect(reply.status).toBe(503);
    const problem = problemDocumentSchema.parse(reply.json());
    expect(problem.detail).toBe('Not confirmed. Switch the supply off by hand.');
  });

  test('does not wait for ever for control', async () => {
    const web = await webUnderTest({ commandTimeoutMs: 30 });
    web.control.answer = () => new Promise(() => undefined);
    const reply = await web.ask('POST', path);
    expect(reply.status).toBe(503);
    expect(reply.text).toContain('Switch the supply off by hand.');
  });

  test('passes on why control could not', async () => {
    const web = await webUnderTest();
    web.control.answer = async () => ({
      ok: false,
      code: 'unavailable',
      reason: 'The line is gone.',
      problems: [],
    });
    const reply = await web.ask('POST', path);
    expect(reply.status).toBe(503);
    expect(problemDocumentSchema.parse(reply.json()).detail).toBe(
      'Not confirmed. Switch the supply off by hand. The line is gone.',
    );
  });

  test('of a tank that is not there is 404', async () => {
    const web = await webUnderTest();
    web.control.answer = async () => ({
      ok: false,
      code: 'notFound',
      reason: 'There is no such tank.',
      problems: [],
    });
    expect((await web.ask('POST', '/api/tanks/nowhere/stop')).status).toBe(404);
    expect((await web.ask('POST', '/api/tanks/no%20where/stop')).status).toBe(404);
  });
});

test('an alarm whose number is no number is not found', async () => {
  const web = await webUnderTest();
  for (const id of ['x', '0', '--1', '1.5', '99999999999999999999']) {
    const reply = await web.ask('POST', `/api/alarms/${id}/acknowledge`, { body: {} });
    expect(reply.status, id).toBe(404);
  }
  expect(web.control.sent).toEqual([]);
});

test('a note of an interrupted run that is too long is refused by its field and bound', async () => {
  const web = await webUnderTest();
  const reply = await web.ask('POST', '/api/runs/run-1/end', { body: { note: 'x'.repeat(501) } });
  expect(reply.status).toBe(422);
  const [problem] = problemDocumentSchema.parse(reply.json()).problems;
  expect(problem?.field).toBe('note');
  expect(problem?.bound).toContain('500');
  expect(web.control.sent).toEqual([]);
});

describe('a change of a run', () => {
  const path = '/api/tanks/beaker/change';

  test.each([
    [{ ...onRun, change: { kind: 'voltage', volts: 3 } }, 'change.kind'],
    [{ ...onRun, change: { kind: 'density', ampsPerDm2: '1.5' } }, 'change.ampsPerDm2'],
    [
      { ...onRun, change: { kind: 'target', target: { kind: 'done-by', localTime: '07:00' } } },
      'change.target.kind',
    ],
    [{ change: change.change }, 'runId'],
    [{ ...onRun }, 'change'],
  ])('of %j is refused by its field', async (body, field) => {
    const web = await webUnderTest();
    const reply = await web.ask('POST', path, { body });
    expect(reply.status).toBe(422);
    const { problems } = problemDocumentSchema.parse(reply.json());
    expect(problems.map((problem) => problem.field)).toContain(field);
    expect(web.control.sent).toEqual([]);
  });

  test('is looked at without a key, and answered with what it would come to', async () => {
    const web = await webUnderTest();
    const look = {
      sentence: 'Density changed from 1 A/dm2 to 1.2 A/dm2',
      raises: true,
      densityAmpsPerDm2: 1.2,
      largestAmps: 0.4,
      leftMs: 1_000,
      endsWallMs: 2_000,
      thicknessMicrometres: { value: 20, low: 18, high: 22 },
    };
    web.control.answer = async () => ({ ok: true, change: look });
    const body = { change: change.change };
    const headers = { 'idempotency-key': null };
    const reply = await web.ask('POST', '/api/tanks/beaker/change-look', { body, headers });
    expect([reply.status, reply.json()]).toEqual([200, look]);
    expect(web.control.sent[0]?.command).toEqual({ kind: 'look-change', tankId, ...body });
  });
});

describe('a note', () => {
  test.each([
    [{ text: '', picture: null }, 'text'],
    [{ text: '  \n ', picture: null }, 'text'],
    [{ text: 'x'.repeat(1001), picture: null }, 'text'],
    [{ text: 'a\u0007b', picture: null }, 'text'],
    [{ text: 'Dull.', picture: 'not-a-picture' }, 'picture'],
    [{ text: 'Dull.' }, 'picture'],
  ])('of %j is refused by its field', async (body, field) => {
    const web = await webUnderTest();
    const reply = await web.ask('POST', '/api/runs/run-1/notes', { body });
    expect(reply.status).toBe(422);
    const { problems } = problemDocumentSchema.parse(reply.json());
    expect(problems.map((problem) => problem.field)).toContain(field);
    expect(web.control.sent).toEqual([]);
  });
});
