/** The write-ahead journal after a crash: a torn end is borne, a gap before later commits is told and kept. */

import { copyFileSync, existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { expect, onTestFinished, test } from 'vitest';
import { openDatabase } from '../../daemon/store/database.ts';
import { brokenJournal } from '../../daemon/store/journal-check.ts';
import { aRun, anEvent, readings } from './a-run.ts';
import { openBenchFile, ownFile } from './bench-file.ts';

const frameBytes = 24 + 4096;

/** A file and its journal as a crash leaves them, with a run and a few events in the journal alone. */
function crashed(): { file: string; journal: Buffer } {
  const source = openBenchFile();
  source.records.createRun(aRun('night-1'));
  source.append('night-1', readings(2000));
  source.db.pragma('wal_checkpoint(TRUNCATE)');
  for (let n = 0; n < 6; n += 1) source.records.appendEvent(anEvent('night-1'));
  const file = ownFile();
  copyFileSync(source.file, file);
  copyFileSync(`${source.file}-wal`, `${file}-wal`);
  return { file, journal: readFileSync(`${file}-wal`) };
}

function reopened(file: string) {
  const told: string[] = [];
  const opened = openDatabase(file, {
    onNotice: (line) => told.push(line),
    onDamage: (line) => told.push(`damage: ${line}`),
  });
  onTestFinished(() => opened.close());
  const events = Number(opened.db.prepare('SELECT count(*) FROM events').pluck().get());
  return { told, events };
}

test('a whole journal is played in, without a word', () => {
  const { file } = crashed();
  expect(brokenJournal(file)).toBeNull();
  expect(reopened(file)).toEqual({ told: [], events: 6 });
});

test('a torn or a missing end is what no commit had confirmed: nothing is said', () => {
  const { file, journal } = crashed();
  writeFileSync(`${file}-wal`, journal.subarray(0, journal.length - 100));
  expect(brokenJournal(file)).toBeNull();
  const torn = Buffer.from(journal).fill(0xa5, journal.length - 100);
  writeFileSync(`${file}-wal`, torn);
  expect(brokenJournal(file)).toBeNull();
  const { told, events } = reopened(file);
  expect(told).toEqual([]);
  expect(events).toBe(5);
});

test('frames of an earlier round behind the end are no damage', () => {
  const bench = openBenchFile();
  bench.records.createRun(aRun('night-1'));
  bench.append('night-1', readings(3000));
  bench.db.pragma('wal_checkpoint(RESTART)');
  bench.records.appendEvent(anEvent('night-1'));
  expect(brokenJournal(bench.file)).toBeNull();
});

test.each([
  ['a page in it', (bytes: Buffer) => bytes.fill(0xa5, 32 + 24 + 100, 32 + 24 + 200)],
  ['a frame of it', (bytes: Buffer) => bytes.fill(0, 32 + frameBytes, 32 + 2 * frameBytes)],
  ['its head', (bytes: Buffer) => bytes.fill(0xa5, 0, 8)],
])('a journal that lost %s is told, kept with its file, and gone on without', (_name, spoil) => {
  const { file, journal } = crashed();
  const spoilt = spoil(Buffer.from(journal));
  writeFileSync(`${file}-wal`, spoilt);
  const { told, events } = reopened(file);
  expect(told).toHaveLength(1);
  expect(told[0]).toContain('damage: The newest part of the database');
  expect(events).toBeLessThan(6);
  const kept = readdirSync(dirname(file)).find((name) => /\.damaged-.*-wal$/.test(name)) ?? '';
  expect(told[0]).toContain(basename(kept, '-wal'));
  expect(readFileSync(join(dirname(file), kept)).equals(spoilt)).toBe(true);
  expect(existsSync(join(dirname(file), basename(kept, '-wal')))).toBe(true);
});
