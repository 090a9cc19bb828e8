/** The nightly copy of the log: when it is made, and all that keeps it from being made. */

import { describe, expect, it } from 'vitest';
import {
  lastDueWallMs,
  NightlyBackup,
  type NightlyBackupParts,
} from '../../daemon/control/nightly-backup.ts';

const hourMs = 3_600_000;
/** Three in the morning of some day, by the clock of the place where the test runs. */
const dueMs = new Date(2026, 0, 11, 3, 0, 0).getTime();

class Bench {
  nowMs = 0;
  wallMs = dueMs - 6 * hourMs;
  busy = false;
  logMb: number | null = 40;
  freeMb: number | null = 10_000;
  fails = false;
  /** The folder of the copies does not answer. */
  hangs = false;
  asked = 0;
  /** Times of the copies, the newest first. */
  copies: number[] = [];
  readonly said: string[] = [];
  readonly nightly: NightlyBackup;

  constructor(settings: Partial<NightlyBackupParts['settings']> = {}) {
    this.nightly = new NightlyBackup({
      settings: { nightly: true, keep: 7, folder: null, ...settings },
      busy: () => this.busy,
      kept: () =>
        this.hangs
          ? new Promise(() => (this.asked += 1))
          : Promise.resolve(this.copies.map((wallMs) => ({ file: `copy ${wallMs}`, wallMs }))),
      logMegabytes: () => Promise.resolve(this.logMb),
      freeMegabytes: () => Promise.resolve(this.freeMb),
      copy: () => {
        if (this.fails) return Promise.reject(new Error('The disk has an error.'));
        this.copies.unshift(this.wallMs);
        return Promise.resolve();
      },
      say: (sentence) => this.said.push(sentence),
    });
  }

  /** So many hours of looks once a minute. */
  async pass(hours: number): Promise<void> {
    for (let minute = 0; minute < hours * 60; minute += 1) {
      this.nowMs += 60_000;
      this.wallMs += 60_000;
      await this.nightly.look(this.nowMs, this.wallMs);
    }
  }
}

describe('the nightly copy of the log', () => {
  it('is made once a night, at three', async () => {
    const bench = new Bench();
    bench.copies = [dueMs - 20 * hourMs];
    await bench.pass(5.9);
    expect(bench.copies).toHaveLength(1);
    await bench.pass(0.2);
    expect(bench.copies[0]).toBe(dueMs);
    await bench.pass(23.5);
    expect(bench.copies).toHaveLength(2);
    await bench.pass(24);
    expect(bench.copies).toHaveLength(3);
    expect(bench.said).toEqual([]);
  });

  it('is made at the first quiet moment where there was none yet', async () => {
    const bench = new Bench();
    await bench.pass(1);
    // Ten minutes after the start, and not before.
    expect(bench.copies).toEqual([dueMs - 6 * hourMs + 11 * 60_000]);
  });

  it('waits for the end of a run, and ten minutes more', async () => {
    const bench = new Bench();
    bench.copies = [dueMs - 20 * hourMs];
    bench.busy = true;
    await bench.pass(12);
    expect(bench.copies).toHaveLength(1);
    bench.busy = false;
    await bench.pass(0.15);
    expect(bench.copies).toHaveLength(1);
    await bench.pass(0.1);
    expect(bench.copies).toHaveLength(2);
  });

  it('is left out where it would take the room of the next runs, and says so once an hour', async () => {
    const bench = new Bench();
    bench.freeMb = 239;
    await bench.pass(3.5);
    expect(bench.copies).toEqual([]);
    expect(bench.said).toHaveLength(4);
    expect(bench.said[0]).toContain('239 MB are free where the copies lie, and 240 MB are needed');
    bench.freeMb = 240;
    await bench.pass(1);
    expect(bench.copies).toHaveLength(1);
  });

  it('is tried again an hour after it failed', async () => {
    const bench = new Bench();
    bench.fails = true;
    await bench.pass(1);
    expect(bench.said).toEqual([
      'The log was not copied tonight; it is tried again in an hour. The disk has an error.',
    ]);
    bench.fails = false;
    await bench.pass(1);
    expect(bench.copies).toHaveLength(1);
  });

  it('is not made where the settings do not want it, nor of a log that is not there', async () => {
    const unwanted = new Bench({ nightly: false });
    await unwanted.pass(30);
    const empty = new Bench();
    empty.logMb = null;
    await empty.pass(30);
    expect([...unwanted.copies, ...empty.copies]).toEqual([]);
  });

  it('is not kept back by one that a wrong clock dated into the future', async () => {
    const bench = new Bench();
    bench.copies = [dueMs + 400 * 24 * hourMs];
    await bench.pass(1);
    expect(bench.copies[0]).toBeLessThan(dueMs);
  });

  it('asks a folder that does not answer once, and leaves it at that', async () => {
    const bench = new Bench();
    bench.hangs = true;
    for (let minute = 0; minute < 120; minute += 1) {
      void bench.nightly.look(minute * 60_000, bench.wallMs);
      await Promise.resolve();
    }
    expect([bench.asked, bench.copies, bench.said]).toEqual([1, [], []]);
  });

  it('is due at three by the clock of the place, also where the clocks change', () => {
    expect(lastDueWallMs(dueMs)).toBe(dueMs);
    expect(lastDueWallMs(dueMs - 1)).toBe(new Date(2026, 0, 10, 3, 0, 0).getTime());
    expect(lastDueWallMs(dueMs + 23 * hourMs)).toBe(dueMs);
  });
});
