/** The sentinel's small parts by themselves: beats, restarts, notes, and the reading of replies. */

import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { BeatWatch } from '../../daemon/sentinel/beat-watch.ts';
import { budgetsFor, hungOffMs } from '../../daemon/sentinel/budgets.ts';
import { Child, longRunFlags } from '../../daemon/sentinel/child.ts';
import type { Channel } from '../../daemon/sentinel/channel.ts';
import { addSentinelNote, readSentinelNotes } from '../../daemon/sentinel/note.ts';
import type { SentinelNote } from '../../daemon/sentinel/note.ts';
import { saysOff, verifyOff } from '../../daemon/sentinel/reply.ts';
import { RestartAllowance } from '../../daemon/sentinel/restarts.ts';

/** Looks every 50 ms up to a time; the time of the first verdict of a hang, or null. */
function firstHang(watch: BeatWatch, fromMs: number, toMs: number, guarded: boolean) {
  for (let atMs = fromMs; atMs <= toMs; atMs += 50) {
    if (watch.look(atMs, guarded).kind === 'hung') return atMs;
  }
  return null;
}

const note = (wallMs: number): SentinelNote => ({ wallMs, cause: 'died', found: 'x', tanks: [] });

/** A line whose n-th query is answered by the n-th text; `standing` is there before. */
function scripted(standing: string, answers: string[]): Channel & { asked: number } {
  let waiting = standing;
  return {
    asked: 0,
    async write() {
      this.asked += 1;
      waiting += answers.shift() ?? '';
    },
    take() {
      const text = waiting;
      waiting = '';
      return text;
    },
    close() {},
  };
}

describe('budgets', () => {
  it('are 800 ms at four polls a second and grow with a slower cycle', () => {
    expect(budgetsFor(250).guardedSilenceMs).toBe(800);
    expect(budgetsFor(50).guardedSilenceMs).toBe(800);
    expect(budgetsFor(1000).guardedSilenceMs).toBe(3200);
    expect(budgetsFor(1000).idleSilenceMs).toBe(6400);
  });

  it('send OFF for a hang once it is seen and the process is gone', () => {
    // README.md promises 1.2 s at four polls a second.
    expect(hungOffMs(800, budgetsFor(250))).toBe(1_050);
  });
});

describe('the watch over beats', () => {
  const budgets = budgetsFor(250);
  it('waits 800 ms for a guarded bench and 5 s for an idle one', () => {
    const first = new BeatWatch(budgets, 0);
    first.ready(0);
    expect(firstHang(first, 0, 10_000, true)).toBe(850);
    const second = new BeatWatch(budgets, 0);
    second.ready(0);
    expect(firstHang(second, 0, 10_000, false)).toBe(5_050);
  });

  it('gives a driver of one\u2019s own the time that its cycle takes, up to a bound', () => {
    const slow = new BeatWatch(budgets, 0);
    slow.ready(0);
    slow.allow(1_000);
    // A faster tank beside it takes nothing back.
    slow.allow(250);
    expect(slow.guardedSilenceMs).toBe(3_200);
    expect(firstHang(slow, 0, 60_000, true)).toBe(3_250);
    const endless = new BeatWatch(budgets, 0);
    endless.ready(0);
    endless.allow(Infinity);
    expect(firstHang(endless, 0, 60_000, true)).toBe(32_050);
  });

  it('allows a starting control its start-up time', () => {
    expect(firstHang(new BeatWatch(budgets, 0), 0, 60_000, true)).toBe(budgets.startUpMs + 50);
  });

  it('begins anew with each beat', () => {
    const watch = new BeatWatch(budgets, 0);
    watch.ready(0);
    for (let atMs = 0; atMs < 20_000; atMs += 750) {
      expect(firstHang(watch, atMs, atMs + 700, true)).toBeNull();
      watch.beat(atMs + 750);
    }
  });

  it('does not blame control for a hold-up of its own, but does not wait long either', () => {
    const watch = new BeatWatch(budgets, 0);
    watch.ready(0);
    watch.look(50, true);
    expect(watch.look(5_000, true).kind).toBe('well');
    expect(firstHang(watch, 5_050, 6_000, true)).toBe(5_200);
  });
});

describe('restarts', () => {
  it('are five in five minutes, then none until the window has moved on', () => {
    const allowance = new RestartAllowance(5, 300_000);
    const taken = [0, 1, 2, 3, 4, 5, 299_999, 300_000].map((atMs) => allowance.take(atMs));
    expect(taken).toEqual([true, true, true, true, true, false, false, true]);
  });

  it('come at once at first and then ever more slowly', () => {
    const allowance = new RestartAllowance(5, 300_000);
    const pauses = [1, 2, 3, 4, 5].map((atMs) => (allowance.take(atMs), allowance.pauseMs()));
    expect(pauses).toEqual([0, 500, 1000, 2000, 4000]);
  });
});

describe('notes', () => {
  const folder = mkdtempSync(join(tmpdir(), 'nightbath-note-'));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  it('are kept oldest first, the last twenty of them, in a folder made when needed', () => {
    const file = join(folder, 'deep', 'note.json');
    for (let atMs = 0; atMs < 25; atMs += 1) addSentinelNote(file, note(atMs));
    expect(readSentinelNotes(file).map((one) => one.wallMs)).toEqual(
      Array.from({ length: 20 }, (_, index) => index + 5),
    );
  });

  it.each(['', '{', '[]', '{"notes":[{"cause":"bored"}]}', 'null'])(
    'that cannot be understood are still a note: %j',
    (text) => {
      const file = join(folder, 'garbled.json');
      writeFileSync(file, text);
      const notes = readSentinelNotes(file);
      expect(notes).toHaveLength(1);
      expect(notes[0]?.found).toContain('cannot be read');
    },
  );

  it('are none where there is no file', () => {
    expect(readSentinelNotes(join(folder, 'none.json'))).toEqual([]);
  });
});

describe('a reply', () => {
  const pattern = /^(0|OFF)$/;
  it.each([
    ['0\n', true],
    ['0\r\n', true],
    ['OFF', true],
    ['OUTP?\n0\n', true],
    ['1\n0\n', true],
    ['0\nOK\n', true],
    ['0\n=>\n', true],
    ['1\nOK\n', false],
    ['OK\n', false],
    ['0\nON\n', false],
    ['1\n', false],
    ['0\n1\n', false],
    ['OUTP?\n', false],
    ['', false],
    ['0.5\n', false],
    ['\n\n', false],
  ])('%j says off: %s', (text, expected) => {
    expect(saysOff(text, 'OUTP?\n', pattern)).toBe(expected);
  });

  it('of a fixed-length dialect is judged as the bytes that it is', () => {
    const bit = new RegExp(String.raw`^[\x00-\x3f\x80-\xbf]$`);
    expect(saysOff('\n', 'STATUS?', bit)).toBe(true);
    expect(saysOff('\u0011', 'STATUS?', bit)).toBe(true);
    expect(saysOff('\u0051', 'STATUS?', bit)).toBe(false);
  });

  it('is believed when it comes twice', async () => {
    const line = scripted('', ['0\n', '0\n']);
    expect(await verifyOff(line, 'OUTP?\n', pattern)).toBeNull();
    expect(line.asked).toBe(2);
  });

  it('that stood in the line before is not taken for the answer', async () => {
    expect(await verifyOff(scripted('0\n0\n', ['1\n']), 'OUTP?\n', pattern)).toContain('"1"');
  });

  it('that comes late by one is found out by the second question', async () => {
    expect(await verifyOff(scripted('', ['0\n', '1\n']), 'OUTP?\n', pattern)).toContain('"1"');
  });

  it('that does not come is said to be missing', async () => {
    expect(await verifyOff(scripted('', []), 'OUTP?\n', pattern)).toBe('it gives no reply');
  });
});

describe('a process that runs for weeks', () => {
  // Keeps a window of what it makes, as a loop of readings does, and ends with how much room the
  // short-lived takes by then, MB.
  const script = `
    import { getHeapSpaceStatistics } from 'node:v8';
    const window = [];
    for (let turn = 0; turn < 1_500_000; turn += 1) {
      window[turn % 200_000] = { turn, text: 'reading ' + turn };
    }
    const young = getHeapSpaceStatistics().find((space) => space.space_name === 'new_space');
    process.exit(Math.round(young.space_size / 1048576));
  `;

  it('lets what is short-lived fill no more than a few megabytes', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'nightbath-child-'));
    const file = join(folder, 'allocates.mjs');
    writeFileSync(file, script);
    const bounded = await new Child(file, [], process.env, longRunFlags).ended;
    const left = await new Child(file, [], process.env).ended;
    rmSync(folder, { recursive: true });
    expect(bounded.exitCode).toBeGreaterThan(0);
    expect(bounded.exitCode).toBeLessThanOrEqual(6);
    // The bound is what does it.
    expect(left.exitCode).toBeGreaterThanOrEqual(16);
  });
});
