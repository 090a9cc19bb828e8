/** The Run page of an armed run: Disarm is there before the code of Start is, and goes over to it. */

import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import type { BenchSnapshot } from '../../daemon/wire/bench.ts';
import { connection } from '../../dashboard/connection.ts';
import { checkWords } from '../../dashboard/words/en/checks.ts';
import { runNowWords } from '../../dashboard/words/en/run-now.ts';
import { listeners, shownBy } from './templates.ts';

const run = {
  id: 'run-armed',
  version: 7,
  lifecycle: 'armed',
  ready: false,
  kind: 'run',
  bathName: 'Acid copper',
  pieceName: 'Leaf',
  sentence: 'Armed.',
  outcome: null,
};
const tank = {
  id: 'one',
  name: 'Beaker',
  output: 'confirmedOff',
  outputSinceWallMs: 0,
  run,
  sensors: [],
  alarms: [],
  link: {
    state: 'connected',
    message: 'Answers.',
    cycleMs: 200,
    answerMs: 40,
    timeouts: 0,
    garbled: 0,
  },
};

beforeEach(() => {
  vi.stubGlobal('matchMedia', () => ({ matches: true }));
  // A button asks whether a click is the second of two.
  vi.stubGlobal('MouseEvent', class extends Event {});
});
afterEach(() => {
  vi.unstubAllGlobals();
  connection.bench = null;
  connection.state = 'connecting';
});

it('is disarmed by a press, with the run and its version', async () => {
  const sent: unknown[] = [];
  vi.stubGlobal('fetch', (path: string, { body }: { body?: string }) => {
    if (body !== undefined) sent.push([path, JSON.parse(body)]);
    return Promise.resolve(Response.json({ ok: true }));
  });
  const { RunPage } = await import('../../dashboard/run-page.ts');
  connection.bench = { tanks: [tank], interrupted: [], baths: [] } as unknown as BenchSnapshot;
  connection.state = 'live';
  const page = new RunPage();
  page.tankId = 'one';
  const view = page.render();
  expect(shownBy(view)).toContain(runNowWords.startComing);

  const [press] = listeners(view, 'click', runNowWords.disarm);
  press?.({});
  await vi.waitFor(() => expect(sent).toHaveLength(1));
  // Once its code is there, Start and Disarm stand in it.
  await import('../../dashboard/run/run-start.ts');
  expect(shownBy(page.render())).toContain('<run-start');
  expect(shownBy(page.render())).not.toContain(runNowWords.startComing);
  expect(sent).toMatchObject([['/api/tanks/one/disarm', { runId: 'run-armed', version: 7 }]]);
});

const checksAt = '/api/tanks/one/checks';
const check = (id: string, state: string) => ({
  id,
  state,
  weight: 'advice',
  title: id,
  sentence: `${id} is ${state}.`,
  remedy: '',
});

it('says of a look at a low current that it is taken before arming, and leads there', async () => {
  const checks = [check('continuity', 'failing'), check('drill', 'ok'), check('clock', 'failing')];
  vi.stubGlobal('window', globalThis);
  vi.stubGlobal('fetch', (path: string) =>
    Promise.resolve(
      path === checksAt
        ? Response.json({ checks, phrase: null, caution: '' })
        : Response.json({ title: 'Gone' }, { status: 404 }),
    ),
  );
  const { RunStart } = await import('../../dashboard/run/run-start.ts');
  const start = new RunStart();
  Object.assign(start, { tank, run, record: null, blocked: '' });
  Object.defineProperty(start, 'isConnected', { value: true });
  start.requestUpdate = () => undefined;
  start.willUpdate();
  await vi.waitFor(() => expect(shownBy(start.render())).toContain('continuity is failing.'));
  // Once, beside the look that is missing: not where it was taken, and not beside any other check.
  const shown = shownBy(start.render()).split(checkWords.beforeArming);
  start.disconnectedCallback();
  expect(shown).toHaveLength(2);
  expect(shown[0]).toContain('continuity is failing.');
  expect(shown[0]).not.toContain('clock is failing.');
  expect(shown[1]).toContain('href=/plan?tank=one');
});

it('says how fast the bench acts, and openly where the supply is what slows it', async () => {
  const { reactionFold } = await import('../../dashboard/run/reaction.ts');
  const slow = {
    readsPerSecond: 1,
    slowedBySupply: true,
    silentOffSeconds: 3.5,
    hungOffSeconds: null,
    offAlarmSeconds: 3,
  };
  const shown = shownBy(reactionFold(slow, true));
  expect(shown).toMatch(/^<details [^>]*\?open=/);
  expect(reactionFold(slow, true).values[0]).toBe(true);
  expect(shown).toContain('The supply is read once a second, as often as it allows.');
  expect(shown).toContain('Switched off after 3.5 s without a valid reading.');
  expect(shown).toContain('If this program hangs: this simulated supply ends with it.');
  expect(shownBy(reactionFold(slow, false))).toContain('nothing else switches this supply off.');
  const quick = { ...slow, readsPerSecond: 4, slowedBySupply: false, hungOffSeconds: 1.1 };
  expect(reactionFold(quick, true).values[0]).toBe(false);
  expect(shownBy(reactionFold(quick, true))).toContain('off within about 1.1 s.');
});
