/** A tank at a glance beside the banner, the health of its line, and the line of a turn that is due. */

import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import type { BenchSnapshot } from '../../daemon/wire/bench.ts';
import type { Alarm } from '../../daemon/wire/run.ts';
import { access } from '../../dashboard/access.ts';
import { connection } from '../../dashboard/connection.ts';
import { tankFace } from '../../dashboard/tank-face.ts';
import { TurnLine } from '../../dashboard/turn-line.ts';
import { alarmWords } from '../../dashboard/words/en/alarm.ts';
import { words } from '../../dashboard/words/en/common.ts';
import { listeners, shownBy } from './templates.ts';

function alarm(id: number, tankId: string, priority: Alarm['priority']): Alarm {
  return {
    id,
    runId: null,
    tankId,
    wallMs: id,
    priority,
    code: 'silence',
    found: `Found ${id}.`,
    cause: '',
    remedy: '',
    acknowledgedWallMs: null,
    clearedWallMs: null,
  };
}

function tank(id: string, more: object = {}): BenchSnapshot['tanks'][number] {
  return {
    id,
    name: `Tank ${id}`,
    simulated: false,
    output: 'confirmedOff',
    outputSinceWallMs: 0,
    run: null,
    alarms: [],
    link: { state: 'connected', message: '', answerMs: 250, timeouts: 0, garbled: 0 },
    ...more,
  } as unknown as BenchSnapshot['tanks'][number];
}

function bench(...tanks: BenchSnapshot['tanks']): void {
  connection.bench = { tanks, interrupted: [], baths: [] } as unknown as BenchSnapshot;
  connection.state = 'live';
}

const face = (of: BenchSnapshot['tanks'][number]): string => shownBy(tankFace(of, ''));

beforeEach(() => {
  // A button asks whether a click is the second of two.
  vi.stubGlobal('MouseEvent', class extends Event {});
  vi.spyOn(access, 'whyNot').mockReturnValue('');
});
afterEach(() => {
  vi.unstubAllGlobals();
  vi.restoreAllMocks();
  connection.bench = null;
  connection.state = 'connecting';
});

describe('an alarm on the face of its tank', () => {
  it('is a shape and a word where the banner says the rest', () => {
    const one = tank('one', { alarms: [alarm(2, 'one', 'note'), alarm(1, 'one', 'stopped')] });
    bench(one);
    const shown = face(one);
    expect(shown).toContain('class="tank stopped"');
    expect(shown.match(/class="shape"/g)).toHaveLength(1);
    expect(shown).toContain(`<strong>${words.alarm.priorities.stopped}</strong>`);
    expect(shown).not.toContain('Found');
  });

  it('is told where the banner names another tank, or has no room for it', () => {
    const six = [1, 2, 3, 4, 5, 6].map((id) => alarm(id, 'one', 'stopped'));
    const one = tank('one', { alarms: six });
    const two = tank('two', { alarms: [alarm(7, 'two', 'act-soon')] });
    bench(one, two);
    expect(face(two)).toContain('Act soon: Found 7.');
    const found = [...face(one).matchAll(/Found (\d)/g)].map(([, id]) => id);
    expect(found, 'the banner has five').toEqual(['6']);
  });
});

describe('the line to a supply', () => {
  it.each([
    [0, 0, 'Answers in 250 ms.'],
    [1, 0, 'Answers in 250 ms; 1 time-out.'],
    [0, 3, 'Answers in 250 ms; 3 garbled.'],
    [2, 3, 'Answers in 250 ms; 2 time-outs, 3 garbled.'],
  ])('tells of %i time-outs and %i garbled answers', (timeouts, garbled, sentence) => {
    const link = { state: 'connected', message: '', answerMs: 250, timeouts, garbled };
    const one = tank('one', { link });
    bench(one);
    expect(face(one)).toContain(`${words.link.connected}. ${sentence}`);
  });
});

describe('a turn that is due', () => {
  const turning = (isDue: boolean) =>
    ({
      run: {
        id: 'r',
        version: 4,
        kind: 'probe',
        lifecycle: 'holding',
        turning: { everyMinutes: 30, dueInMs: 0, isDue, done: 0, missed: 0 },
      },
    }) as const;
  /** One that is drawn by hand. */
  function line(besideId = ''): TurnLine {
    const made = new TurnLine();
    made.besideId = besideId;
    made.requestUpdate = () => undefined;
    return made;
  }

  it('stands once on each page, but not where the page of its run says it', () => {
    bench(tank('one', turning(true)), tank('two', turning(false)), tank('three', turning(true)));
    const all = shownBy(line().render());
    expect(all.split(alarmWords.turn)).toHaveLength(3);
    expect(all).toMatch(/Tank one[^]*Tank three/);
    expect(all).not.toContain('Tank two');
    expect(shownBy(line('one').render())).not.toContain('Tank one');
    expect(shownBy(line('one').render())).toContain('Tank three');
  });

  it('is over with its run, whatever the run ended with', () => {
    for (const lifecycle of ['finished', 'stopped', 'tripped', 'interrupted']) {
      const one = tank('one', turning(true));
      bench({ ...one, run: { ...one.run, lifecycle } } as typeof one);
      expect(shownBy(line().render())).not.toContain(alarmWords.turn);
    }
  });

  it('keeps what a press was refused for only while that turn is due', async () => {
    bench(tank('one', turning(true)));
    vi.stubGlobal('fetch', () =>
      Promise.resolve(Response.json({ detail: 'It moved on.' }, { status: 409 })),
    );
    const shown = line();
    for (const press of listeners(shown.render(), 'click', alarmWords.turned)) press({});
    await vi.waitFor(() => expect(shownBy(shown.render())).toContain('It moved on.'));
    const one = tank('one', turning(true));
    // The next stage of the run is no other turn.
    bench({ ...one, run: { ...one.run, version: 5 } } as typeof one);
    expect(shownBy(shown.render())).toContain('It moved on.');
    const next = { ...one.run?.turning, missed: 1 };
    bench({ ...one, run: { ...one.run, version: 5, turning: next } } as typeof one);
    expect(shownBy(shown.render())).toContain(alarmWords.turn);
    expect(shownBy(shown.render())).not.toContain('It moved on.');
  });

  it('is done by one press, for the run as it is; a second one waits for the answer', async () => {
    bench(tank('one', turning(true)));
    const sent: unknown[] = [];
    vi.stubGlobal('fetch', (path: string, { body }: { body: string }) => {
      sent.push([path, JSON.parse(body)]);
      return Promise.resolve(Response.json({ detail: 'It moved on.' }, { status: 409 }));
    });
    const shown = line();
    const [press] = listeners(shown.render(), 'click', alarmWords.turned);
    press?.({});
    press?.({});
    await vi.waitFor(() => expect(shownBy(shown.render())).toContain('class="error"'));
    expect(sent).toEqual([['/api/tanks/one/turned', { runId: 'r', version: 4 }]]);
    connection.state = 'stale';
    expect(shownBy(shown.render())).toContain(words.run.stale);
  });
});
