/** Copies of the log that are made in a thread of their own, and which of them stay. */

import { existsSync, mkdirSync, readdirSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { backUpAside, keptBackups, openStoreReader } from '../../daemon/store/door.ts';
import { aRun, readings } from './a-run.ts';
import { openBenchFile, ownFolder } from './bench-file.ts';

function aLog() {
  const folder = ownFolder();
  const database = join(folder, 'bench.sqlite');
  const log = openBenchFile(database);
  log.records.createRun(aRun('night-1'));
  log.append('night-1', readings(50));
  return { log, database, folder: join(folder, 'backups') };
}

describe('a copy beside the writer', () => {
  test('is whole, is made while the log is open, and is found by its name', async () => {
    const { log, database, folder } = aLog();
    const before = Math.floor(Date.now() / 1000) * 1000;
    const { file, runs } = await backUpAside({ database, folder, keep: 7 });
    expect(runs).toBe(1);
    const [kept, ...others] = keptBackups(folder, database);
    expect(others).toEqual([]);
    expect(kept?.file).toBe(file);
    expect(kept?.wallMs).toBeGreaterThanOrEqual(before);
    expect(kept?.wallMs).toBeLessThanOrEqual(Date.now());
    const reader = openStoreReader(file);
    expect(reader.readings('night-1', 0, 100)).toHaveLength(50);
    reader.close();
    // The log itself goes on.
    log.records.createRun(aRun('night-2'));
  });

  test('makes the oldest ones go, and nothing that is not its own', async () => {
    const { database, folder } = aLog();
    mkdirSync(folder);
    const own = (day: number) => `bench-2026010${day}T030000Z.nightly.sqlite`;
    const others = [
      'bench-20260101T030000Z.sqlite',
      'other-20260101T030000Z.nightly.sqlite',
      'bench-2026-01-01.nightly.sqlite',
      'notes.txt',
    ];
    for (const name of [own(1), own(2), own(3), ...others]) writeFileSync(join(folder, name), 'x');
    const { file } = await backUpAside({ database, folder, keep: 2 });
    const left = readdirSync(folder).toSorted();
    expect(left).toEqual([...others, own(3), basename(file)].toSorted());
  });

  test('begins a new count at each damaged log: the last sound copy of it is among those before', async () => {
    const { database, folder } = aLog();
    mkdirSync(folder);
    const own = (day: number) => `bench-202601${day}T030000Z.nightly.sqlite`;
    for (let day = 10; day < 29; day += 1) writeFileSync(join(folder, own(day)), 'x');
    // The second one was kept with its journal; two of one second get a number.
    for (const name of ['14T120000Z', '20T120000Z', '20T120000Z-wal', '20T120000Z-2']) {
      writeFileSync(`${database}.damaged-202601${name}`, 'x');
    }
    writeFileSync(`${database}.damaged-by-hand`, 'x');
    const { file } = await backUpAside({ database, folder, keep: 2 });
    const left = [own(13), own(14), own(19), own(20), own(28), basename(file)];
    expect(readdirSync(folder).toSorted()).toEqual(left);
  });

  test('that cannot be made leaves what was there, and says why', async () => {
    const { database, folder } = aLog();
    writeFileSync(folder, 'a file where a folder should be');
    await expect(backUpAside({ database, folder, keep: 1 })).rejects.toMatchObject({
      message: expect.stringContaining('Cannot copy'),
    });
    const absent = join(ownFolder(), 'absent.sqlite');
    const elsewhere = ownFolder();
    await expect(
      backUpAside({ database: absent, folder: elsewhere, keep: 1 }),
    ).rejects.toMatchObject({ message: expect.stringContaining('There is no database') });
    expect(readdirSync(elsewhere)).toEqual([]);
    expect(existsSync(absent)).toBe(false);
  });
});
