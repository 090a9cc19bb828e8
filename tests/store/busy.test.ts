/** Another program that holds the file: waited out for a moment, told where it does not let go. */

import Database from 'better-sqlite3';
import { setTimeout as wait } from 'node:timers/promises';
import { expect, test } from 'vitest';
import { CommitFailures } from '../../daemon/store/commit-failures.ts';
import { openStoreWriter } from '../../daemon/store/door.ts';
import { aRun, aReading, anEvent } from './a-run.ts';
import { ownFile } from './bench-file.ts';

test('a file that is held for some seconds ends no run, and every reading arrives', async () => {
  const file = ownFile();
  const store = await openStoreWriter({ file });
  const failures: string[] = [];
  store.onFailure((reason) => failures.push(reason));
  await store.createRun(aRun('night-1'));
  const other = new Database(file);
  other.exec('BEGIN IMMEDIATE');
  for (let index = 0; index < 8; index += 1) store.appendReading('night-1', aReading(index));
  // One that must be answered is refused in the end, by name, and may be asked for again.
  await expect(store.appendEvent(anEvent('night-1'))).rejects.toMatchObject({ kind: 'busy' });
  other.exec('COMMIT');
  other.close();
  await expect(store.appendEvent(anEvent('night-1'))).resolves.toMatchObject({ runId: 'night-1' });
  expect((await store.lastReading('night-1'))?.atMs).toBe(aReading(7).atMs);
  await store.close();
  expect(failures).toEqual([]);
});

test('what is held at every try counts as lost, once; anything else at once', async () => {
  const told: string[] = [];
  const failures = new CommitFailures();
  failures.listen((reason) => told.push(reason));
  const busy = { kind: 'busy', message: 'held' } as const;
  for (let n = 0; n < 3; n += 1) failures.failed(n % 2 === 0 ? 'readings' : 'records', busy);
  await wait(0);
  expect(told).toEqual([]);
  failures.failed('readings', busy);
  failures.failed('readings', busy);
  await wait(0);
  expect(told).toEqual(['held']);
  failures.over('readings');
  failures.failed('readings', busy);
  await wait(0);
  expect(told).toHaveLength(1);
  failures.failed('records', { kind: 'io', message: 'broken' });
  await wait(0);
  expect(told).toEqual(['held', 'broken']);
});
