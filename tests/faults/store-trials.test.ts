/** A few of the kills that `npm run trials -- --store N` makes by the hundred, and proof that their judge can fail. */

import Database from 'better-sqlite3';
import {
  closeSync,
  copyFileSync,
  mkdtempSync,
  openSync,
  rmSync,
  statSync,
  writeSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { openStoreWriter } from '../../daemon/store/door.ts';
import { armedWallMs, aReading, aRun, anAlarm, anEvent } from '../store/a-run.ts';
import { ownFolder } from '../store/bench-file.ts';

type Line = readonly (string | number)[];

interface Judged {
  readonly wrong: readonly string[];
  readonly answered: number;
  readonly found: number;
  readonly lost: number;
  readonly lostMs: number;
}

interface Trials {
  storeKills: (of: {
    count: number;
    seed: number;
    mostLostMs: number;
  }) => Promise<readonly Judged[]>;
}

interface Judge {
  heardFrom: (runId: string, lines: readonly Line[]) => object;
  judge: (
    file: string,
    of: { heard: object; killedMs: number; mostLostMs: number },
  ) => Promise<Judged>;
}

async function script<T>(name: string): Promise<T> {
  return (await import(new URL(`../trials/${name}`, import.meta.url).href)) as T;
}

test('a writer killed at random moments leaves a whole log, with all that it was told', async () => {
  const { storeKills } = await script<Trials>('store-kills.js');
  // A second on a machine with time to spare; here it may be busy.
  const results = await storeKills({ count: 5, seed: 5, mostLostMs: 3_000 });
  expect(results).toHaveLength(5);
  expect(results.flatMap(({ wrong }) => wrong)).toEqual([]);
  const answered = results.reduce((sum, result) => sum + result.answered, 0);
  expect(answered).toBeGreaterThan(10);
  expect(results.reduce((sum, result) => sum + result.found, 0)).toBe(answered);
});

describe('the judge of such a log', () => {
  const runId = 'night-1';
  const killedMs = 10_000;
  const posted = (key: string, kind: 'run-end' | 'alarm') => ({
    message: {
      id: key,
      kind,
      priority: 'stopped' as const,
      tankId: 'beaker',
      createdWallMs: armedWallMs,
      title: key,
      text: 'Off.',
      code: null,
    },
    channels: [
      { name: 'push', print: 'aa' },
      { name: 'mail', print: 'bb' },
    ],
  });

  const folder = mkdtempSync(join(tmpdir(), 'nightbath-judge-'));
  let written: { file: string; lines: readonly Line[] };
  beforeAll(async () => {
    written = await writeLog(join(folder, 'written.db'));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  /** A log as a writer would have left it that was killed at ten seconds, and what it had said. */
  function aLog() {
    const file = join(ownFolder(), 'left.db');
    copyFileSync(written.file, file);
    return { ...written, file };
  }

  async function writeLog(file: string) {
    const lines: Line[] = [['opened']];
    const writer = await openStoreWriter({ file });
    const ask = async (kind: string, key: string, number: number, work: () => Promise<number>) => {
      lines.push(['asked', kind, key, 8, number]);
      lines.push(['answered', kind, key, await work()]);
    };
    lines.push(['asked', 'run', runId, 0, 0], ['answered', 'run', runId, 0]);
    await writer.createRun(aRun(runId, { lifecycle: 'holding' }));
    for (let index = 0; index < 8; index += 1) {
      lines.push(['reading', index, 7_000 + index * 250]);
      const figures = { ampHours: index, thicknessMicrometres: index };
      writer.appendReading(runId, aReading(index, figures));
    }
    const event = (message: string) => anEvent(runId, { message });
    const raise = async (key: string) => {
      const alarm = { ...anAlarm(runId), found: key };
      return (await writer.raiseAlarm(event(key), alarm, posted(key, 'alarm'))).alarm.id;
    };
    await ask(
      'event',
      'n-event-1',
      1,
      async () => (await writer.appendEvent(event('n-event-1'))).id,
    );
    await ask('told', 'n-told-2', 2, async () => {
      return (await writer.appendEvent(event('n-told-2'), posted('n-told-2', 'run-end'))).id;
    });
    let first = 0;
    await ask('alarm', 'n-alarm-3', 3, async () => (first = await raise('n-alarm-3')));
    await ask('alarm', 'n-alarm-4', 4, () => raise('n-alarm-4'));
    await ask('acknowledge', 'n-alarm-3', 0, async () => {
      return (await writer.acknowledgeAlarm(first, armedWallMs))?.id ?? 0;
    });
    await ask('patch', 'n-patch-5', 5, async () => {
      await writer.patchRun(runId, { ampHours: 5 });
      return 0;
    });
    await writer.close();
    return { file, lines };
  }

  async function judged(file: string, lines: readonly Line[]): Promise<Judged> {
    const { heardFrom, judge } = await script<Judge>('store-judge.js');
    return judge(file, { heard: heardFrom(runId, lines), killedMs, mostLostMs: 1_000 });
  }

  test('finds nothing wrong with one that is whole, nor with what was never answered', async () => {
    const { file, lines } = aLog();
    expect(await judged(file, lines)).toMatchObject({ wrong: [], answered: 5, found: 5, lost: 0 });
    const more = [
      ...lines,
      ['reading', 8, 9_100],
      ['reading', 9, 9_350],
      ['asked', 'alarm', 'n-alarm-6', 10, 6],
    ];
    const found = await judged(file, more);
    expect(found).toMatchObject({ wrong: [], answered: 5, found: 5, lost: 2, lostMs: 900 });
  });

  const ofAlarm4 = `(SELECT number FROM messages WHERE id = 'n-alarm-4')`;
  const broken: readonly [what: string, sql: string, sentence: RegExp][] = [
    ['a missing event', `DELETE FROM events WHERE message = 'n-event-1'`, /n-event-1 was answered/],
    [
      'a missing alarm with all that belongs to it',
      `DELETE FROM outbox WHERE message = ${ofAlarm4};
       DELETE FROM messages WHERE id = 'n-alarm-4';
       DELETE FROM alarms WHERE found = 'n-alarm-4';
       DELETE FROM events WHERE message = 'n-alarm-4'`,
      /n-alarm-4 was answered; there: events 0, alarms 0, messages 0, postings 0/,
    ],
    [
      'a missing row of the outbox',
      `DELETE FROM outbox WHERE channel = 'mail' AND message = ${ofAlarm4}`,
      /n-alarm-4 was answered; there: events 1, alarms 1, messages 1, postings 1/,
    ],
    [
      'a missing message of an end',
      `DELETE FROM outbox WHERE message = (SELECT number FROM messages WHERE id = 'n-told-2');
       DELETE FROM messages WHERE id = 'n-told-2'`,
      /n-told-2 was answered; there: events 1, alarms 0, messages 0, postings 0/,
    ],
    [
      'a missing acknowledgement',
      `UPDATE alarms SET acknowledged_wall_ms = NULL WHERE found = 'n-alarm-3'`,
      /acknowledgement of n-alarm-3 is lost/,
    ],
    [
      'what is said on after an acknowledgement',
      `UPDATE outbox SET due_wall_ms = 1 WHERE due_wall_ms IS NULL`,
      /n-alarm-3: acknowledged, and 2 are due/,
    ],
    ['a missing change of the run', 'UPDATE runs SET amp_hours = 4', /change 5 was answered/],
    ['a change that nobody asked for', 'UPDATE runs SET amp_hours = 6', /6, which was never asked/],
    ['a missing run', 'DELETE FROM runs', /The run night-1 is lost/],
    [
      'a missing reading between others',
      'DELETE FROM readings WHERE amp_hours = 3',
      /reading 3 is missing/,
    ],
    [
      'missing readings of more than a second',
      'DELETE FROM readings WHERE amp_hours >= 6',
      /reading 6 is lost, handed in 1500 ms before the kill/,
    ],
    [
      'missing readings from before an event',
      'DELETE FROM readings WHERE amp_hours >= 7',
      /n-event-1 is there, reading 7, handed in before it, is not/,
    ],
    [
      'a summary of too few readings',
      'UPDATE summaries SET count = 5 WHERE span = 60',
      /summaries do not cover its 8/,
    ],
    [
      'an event that nobody asked for',
      `INSERT INTO events (run_id, tank_id, wall_ms, code, message)
       VALUES ('night-1', 'beaker', 1, 'overCurrent', 'n-event-99')`,
      /n-event-99 was never asked for/,
    ],
  ];

  test.each(broken)('notices %s', async (_what, sql, sentence) => {
    const { file, lines } = aLog();
    const db = new Database(file);
    db.pragma('foreign_keys = OFF');
    db.exec(sql);
    db.close();
    const { wrong } = await judged(file, lines);
    expect(wrong.join('\n')).toMatch(sentence);
  });

  test('does not take what is there in part for what was not answered', async () => {
    const { file, lines } = aLog();
    const db = new Database(file);
    db.exec(`DELETE FROM outbox WHERE channel = 'mail' AND message = ${ofAlarm4}`);
    db.close();
    const unanswered = lines.filter(
      ([word, , key]) => !(word === 'answered' && key === 'n-alarm-4'),
    );
    const { wrong } = await judged(file, unanswered);
    expect(wrong.join('\n')).toMatch(/n-alarm-4 is there in part/);
  });

  test('hears what the daemon says when it opens a damaged one', async () => {
    const { file, lines } = aLog();
    const copy = `${file}-copy.db`;
    copyFileSync(file, copy);
    const descriptor = openSync(copy, 'r+');
    const rest = statSync(copy).size - 8_192;
    writeSync(descriptor, Buffer.alloc(rest, 0xa5), 0, rest, 8_192);
    closeSync(descriptor);
    const { wrong } = await judged(copy, lines);
    expect(wrong[0]).toMatch(/^At the opening: .* is damaged/);
    expect(wrong.join('\n')).toMatch(/The run night-1 is lost/);
  });

  test('passes on what the writer complained of', async () => {
    const { file, lines } = aLog();
    const refused: Line = ['refused', 'event', 'n-event-7', 'The disk is full.'];
    const { wrong } = await judged(file, [...lines, refused]);
    expect(wrong).toEqual(['n-event-7 was refused: The disk is full.']);
  });
});
