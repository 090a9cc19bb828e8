/** The Run page of an armed run: Disarm is there before the code of Start is, and goes over to it. */

import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import type { BenchSnapshot } from '../../daemon/wire/bench.ts';
import { connection } from '../../dashboard/connection.ts';
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
