/** The read-only side: what there is, newest first, and calm about a file that is not there yet. */

import Database from 'better-sqlite3';
import { mkdirSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, onTestFinished, test } from 'vitest';
import { openDatabase } from '../../daemon/store/database.ts';
import { StoreError } from '../../daemon/store/errors.ts';
import { migrations } from '../../daemon/store/migrations.ts';
import { openStoreReader } from '../../daemon/store/reader.ts';
import { aReading, armedWallMs, aRun, anAlarm, anEvent, readings } from './a-run.ts';
import { openBenchFile, ownFile, ownFolder } from './bench-file.ts';

function readerOf(file: string) {
  const reader = openStoreReader(file);
  onTestFinished(() => reader.close());
  return reader;
}

function kindOf(act: () => unknown): string {
  try {
    act();
  } catch (error) {
    if (error instanceof StoreError) return error.kind;
    throw error;
  }
  return 'nothing thrown';
}

describe('a file that is not there', () => {
  test('reads as an empty log, and as what it is once it is there', () => {
    const file = ownFile();
    const reader = readerOf(file);
    expect(reader.runs({ limit: 10 })).toEqual([]);
    expect(reader.run('night-1')).toBeNull();
    expect(reader.series('night-1', 100)).toBeNull();
    expect(reader.readings('night-1', 0, 10)).toEqual([]);
    expect([...reader.allReadings('night-1')]).toEqual([]);
    expect(reader.events('night-1')).toEqual([]);
    expect(reader.recentEvents(10)).toEqual([]);
    expect(reader.alarms(10)).toEqual([]);

    const bench = openBenchFile(file);
    const run = aRun('night-1');
    bench.records.createRun(run);
    expect(reader.run('night-1')).toEqual(run);
  });

  test('an empty file, and one whose tables are not made yet, read as an empty log', () => {
    const file = ownFile();
    writeFileSync(file, '');
    expect(readerOf(file).runs({ limit: 1 })).toEqual([]);
  });

  test('a file that was replaced is read anew, and the old one let go', () => {
    const file = ownFile();
    const first = openBenchFile(file);
    first.records.createRun(aRun('old'));
    first.close();
    const reader = readerOf(file);
    expect(reader.run('old')?.id).toBe('old');

    renameSync(file, `${file}.kept`);
    expect(reader.runs({ limit: 10 })).toEqual([]);
    const second = openBenchFile(file);
    second.records.createRun(aRun('new'));
    expect(reader.runs({ limit: 10 }).map(({ id }) => id)).toEqual(['new']);
  });
});

describe('files it cannot use', () => {
  test('a newer one, a stranger and a damaged one each have their own kind', () => {
    const newer = ownFile();
    const next = { version: migrations.length + 1, name: 'next', sql: 'CREATE TABLE later (x)' };
    openDatabase(newer, { onNotice: () => undefined, migrations: [...migrations, next] }).close();
    expect(kindOf(() => readerOf(newer).runs({ limit: 1 }))).toBe('newer');

    const foreign = ownFile();
    const other = new Database(foreign);
    other.exec('CREATE TABLE recipes (name TEXT); PRAGMA user_version = 3');
    other.close();
    expect(kindOf(() => readerOf(foreign).runs({ limit: 1 }))).toBe('foreign');

    const damaged = ownFile();
    writeFileSync(damaged, 'This is a shopping list. '.repeat(400));
    expect(kindOf(() => readerOf(damaged).runs({ limit: 1 }))).toBe('damaged');

    const folder = join(ownFolder(), 'bench.db');
    mkdirSync(folder);
    expect(['cannotOpen', 'io']).toContain(kindOf(() => readerOf(folder).runs({ limit: 1 })));
  });

  test('it cannot write', () => {
    const bench = openBenchFile();
    const db = new Database(bench.file, { readonly: true });
    onTestFinished(() => void db.close());
    expect(() => db.exec('DELETE FROM runs')).toThrow(/readonly/);
  });

  test('a run whose plan was spoilt is named, and the rest of the log is still there', () => {
    const bench = openBenchFile();
    bench.records.createRun(aRun('good'));
    bench.records.createRun(aRun('bad'));
    bench.db.prepare(`UPDATE runs SET plan = '{"request":1}' WHERE id = 'bad'`).run();
    const reader = readerOf(bench.file);
    expect(kindOf(() => reader.run('bad'))).toBe('unreadable');
    expect(() => reader.run('bad')).toThrow(/run bad.*plan\.request/);
    expect(reader.run('good')?.id).toBe('good');
    expect(reader.runs({ limit: 10 })).toHaveLength(2);
  });

  test('a closed reader says so', () => {
    const reader = openStoreReader(ownFile());
    reader.close();
    expect(kindOf(() => reader.runs({ limit: 1 }))).toBe('closed');
  });
});

describe('runs', () => {
  test('come newest first, by tank and before a time, without their plans', () => {
    const bench = openBenchFile();
    for (let index = 0; index < 6; index += 1) {
      bench.records.createRun(
        aRun(`run-${index}`, {
          tankId: index % 2 === 0 ? 'beaker' : 'large',
          armedWallMs: armedWallMs + index * 1000,
        }),
      );
    }
    const reader = readerOf(bench.file);
    const ids = (filter: Parameters<typeof reader.runs>[0]) =>
      reader.runs(filter).map(({ id }) => id);
    expect(ids({ limit: 4 })).toEqual(['run-5', 'run-4', 'run-3', 'run-2']);
    expect(ids({ limit: 10, tankId: 'large' })).toEqual(['run-5', 'run-3', 'run-1']);
    expect(ids({ limit: 10, beforeWallMs: armedWallMs + 2000 })).toEqual(['run-1', 'run-0']);
    expect(reader.runs({ limit: 1 })[0]).toEqual({
      id: 'run-5',
      kind: 'run',
      tankId: 'large',
      simulated: true,
      pieceName: 'Seed head, “first” cast',
      bathName: 'Invented bath',
      armedWallMs: armedWallMs + 5000,
      startedWallMs: null,
      endedWallMs: null,
      lifecycle: 'armed',
      outcome: null,
      ampHours: 0,
      thicknessMicrometres: 0,
      targetMicrometres: 120,
      continues: null,
    });
  });

  test('limits out of bounds are refused by name, value and bound', () => {
    const reader = readerOf(openBenchFile().file);
    expect(() => reader.runs({ limit: 0 })).toThrow('limit is 0');
    expect(() => reader.runs({ limit: 1001 })).toThrow('from 1 to 1000');
    expect(() => reader.readings('x', Number.NaN, 5)).toThrow('fromMs is NaN');
    expect(() => reader.readings('x', 0, 20_001)).toThrow('from 1 to 20000');
    expect(() => reader.recentEvents(-1)).toThrow('limit is -1');
    expect(() => reader.alarms(1.5)).toThrow('limit is 1.5');
    expect(() => reader.runs({ limit: 1, beforeWallMs: Infinity })).toThrow('beforeWallMs');
  });
});

test('events of a run come oldest first, recent ones and alarms newest first', () => {
  const bench = openBenchFile();
  bench.records.createRun(aRun('night-1'));
  const first = bench.records.appendEvent(anEvent('night-1'));
  const bare = bench.records.appendEvent(anEvent(null, { atMs: null, code: 'linkLost' }));
  const one = bench.records.raiseAlarm(anEvent('night-1'), anAlarm('night-1'));
  const two = bench.records.raiseAlarm(anEvent(null), anAlarm(null));
  const reader = readerOf(bench.file);
  expect(reader.events('night-1')).toEqual([first, one.event]);
  expect(reader.recentEvents(3)).toEqual([two.event, one.event, bare]);
  expect(reader.alarms(10)).toEqual([two.alarm, one.alarm]);
});

test('what is committed while pages are read is read too', () => {
  const bench = openBenchFile();
  bench.records.createRun(aRun('night-1'));
  bench.append('night-1', readings(1200));
  const pages = readerOf(bench.file).allReadings('night-1')[Symbol.iterator]();
  expect(pages.next().value).toHaveLength(1000);
  bench.append('night-1', [aReading(1200)]);
  expect(pages.next().value?.at(-1)).toEqual(aReading(1200));
});
