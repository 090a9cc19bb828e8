/** Opening the file: durability settings, versions with a backup, damage, strangers, and one writer only. */

import Database from 'better-sqlite3';
import { mkdirSync, readFileSync, readdirSync, symlinkSync, writeFileSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { describe, expect, onTestFinished, test } from 'vitest';
import { openDatabase, type OpenOptions } from '../../daemon/store/database.ts';
import { StoreError } from '../../daemon/store/errors.ts';
import { migrations, type Migration } from '../../daemon/store/migrations.ts';
import { aRun, anEvent, readings } from './a-run.ts';
import { openBenchFile, ownFile, ownFolder } from './bench-file.ts';

function open(file: string, options: Partial<OpenOptions> = {}) {
  const notices: string[] = [];
  const opened = openDatabase(file, { onNotice: (line) => notices.push(line), ...options });
  onTestFinished(() => opened.close());
  return { ...opened, notices };
}

function errorOf(act: () => unknown): StoreError {
  try {
    act();
  } catch (error) {
    if (error instanceof StoreError) return error;
    throw error;
  }
  throw new Error('expected a StoreError, and nothing was thrown');
}

const latest = migrations.length;
const next = latest + 1;

const addNote: Migration = {
  version: next,
  name: 'a note on every run',
  sql: "ALTER TABLE runs ADD COLUMN note TEXT NOT NULL DEFAULT ''",
};

/** A file of the latest version with one run in it, closed. */
function closedFile(): string {
  const file = ownFile();
  const bench = openBenchFile(file);
  bench.records.createRun(aRun('night-1'));
  bench.append('night-1', readings(10));
  bench.close();
  return file;
}

function namesBeside(file: string): string[] {
  return readdirSync(dirname(file)).filter((name) => name !== basename(file));
}

describe('durability', () => {
  test('a reopened WAL file commits with synchronous FULL, which plain opening would not', () => {
    const file = ownFile();
    open(file).close();
    const plain = new Database(file);
    expect(plain.pragma('journal_mode', { simple: true })).toBe('wal');
    expect(plain.pragma('synchronous', { simple: true })).toBe(1);
    plain.close();

    const { db } = open(file);
    expect(db.pragma('synchronous', { simple: true })).toBe(2);
    expect(db.pragma('journal_mode', { simple: true })).toBe('wal');
    expect(db.pragma('busy_timeout', { simple: true })).toBe(2000);
    expect(db.pragma('wal_autocheckpoint', { simple: true })).toBe(1000);
    expect(db.pragma('journal_size_limit', { simple: true })).toBe(64 * 1024 * 1024);
    expect(db.pragma('foreign_keys', { simple: true })).toBe(1);
  });

  test('folders on the way to the file are made', () => {
    const file = join(ownFolder(), 'state', 'nightbath', 'bench.db');
    expect(open(file).db.open).toBe(true);
  });
});

describe('versions', () => {
  test('steps are numbered 1, 2, 3 … without a gap', () => {
    expect(migrations.map(({ version }) => version)).toEqual(
      migrations.map((_, index) => index + 1),
    );
  });

  test('a fresh file is made at the latest version without a backup', () => {
    const file = ownFile();
    const { db, notices } = open(file);
    expect(db.pragma('user_version', { simple: true })).toBe(migrations.length);
    expect(namesBeside(file).filter((name) => name.endsWith('.backup'))).toEqual([]);
    expect(notices).toEqual([]);
  });

  test('an older file is backed up, then brought forward with its rows', () => {
    const file = closedFile();
    const { db, notices } = open(file, { migrations: [...migrations, addNote] });

    expect(db.pragma('user_version', { simple: true })).toBe(next);
    expect(db.prepare('SELECT id, note FROM runs').all()).toEqual([{ id: 'night-1', note: '' }]);
    const backups = namesBeside(file).filter((name) => name.endsWith('.backup'));
    expect(backups).toHaveLength(1);
    expect(backups[0]).toMatch(/^bench\.db\.version-\d+-\d{8}T\d{6}Z\.backup$/);
    expect(backups[0]).toContain(`.version-${latest}-`);
    expect(notices.join(' ')).toContain(backups[0]);
    expect(notices.join(' ')).toContain(`from version ${latest} to ${next}`);

    const copy = new Database(join(dirname(file), backups[0] ?? ''), { readonly: true });
    onTestFinished(() => void copy.close());
    expect(copy.pragma('user_version', { simple: true })).toBe(latest);
    expect(copy.prepare('SELECT count(*) FROM readings').pluck().get()).toBe(10);
  });

  test('runs of a version 1 file that were closed then owe no OFF, and open ones do', () => {
    const file = ownFile();
    const before = openDatabase(file, {
      onNotice: () => undefined,
      migrations: migrations.slice(0, 1),
    });
    const old = before.db;
    for (const [id, lifecycle] of [
      ['done', 'tripped'],
      ['cut short', 'holding'],
    ]) {
      old
        .prepare(
          `INSERT INTO runs (id, kind, tank_id, carried_amp_hours, simulated, plan, checklist,
             piece_name, bath_name, target_micrometres, armed_wall_ms, lifecycle, amp_hours,
             low_amp_hours, high_amp_hours, thickness_micrometres)
           VALUES (?, 'run', 'one', 0, 0, '{}', '[]', 'a', 'b', 1, 1, ?, 0, 0, 0, 0)`,
        )
        .run(id, lifecycle);
    }
    before.close();
    const { db } = open(file);
    expect(db.prepare('SELECT id, off_confirmed FROM runs ORDER BY number').all()).toEqual([
      { id: 'done', off_confirmed: 1 },
      { id: 'cut short', off_confirmed: 0 },
    ]);
  });

  test('an up-to-date file is opened without a backup', () => {
    const file = closedFile();
    expect(open(file).notices).toEqual([]);
    expect(namesBeside(file).filter((name) => name.endsWith('.backup'))).toEqual([]);
  });

  test('a step that fails half-way leaves the file as it was and names the step', () => {
    const file = closedFile();
    const broken = { ...addNote, sql: `${addNote.sql}; INSERT INTO nowhere VALUES (1)` };
    const error = errorOf(() => open(file, { migrations: [...migrations, broken] }));
    expect(error.kind).toBe('migrationFailed');
    expect(error.message).toContain(`Step ${next} (a note on every run)`);

    const { db } = open(file);
    expect(db.pragma('user_version', { simple: true })).toBe(latest);
    expect(db.prepare('SELECT * FROM runs').get()).not.toHaveProperty('note');
  });

  test('a step that would leave rows referring to nothing is undone', () => {
    const file = ownFile();
    const bench = openBenchFile(file);
    bench.records.createRun(aRun('first'));
    bench.records.createRun(aRun('second', { continues: 'first' }));
    bench.close();
    const careless = { version: next, name: 'forget', sql: "DELETE FROM runs WHERE id = 'first'" };
    const error = errorOf(() => open(file, { migrations: [...migrations, careless] }));
    expect(error.kind).toBe('migrationFailed');
    expect(error.message).toContain('would refer to nothing');
    expect(open(file).db.prepare('SELECT count(*) FROM runs').pluck().get()).toBe(2);
  });

  test('when the backup cannot be written the file is not touched', () => {
    const file = closedFile();
    const before = readFileSync(file);
    const tooNew = [...migrations, addNote];
    // Every name that the backup could take this minute leads to a place that does not exist.
    const now = Date.now();
    for (let second = 0; second < 60; second += 1) {
      const stamp = new Date(now + second * 1000).toISOString().replaceAll(/[-:]|\.\d+/g, '');
      symlinkSync('/nowhere/at/all', `${file}.version-${latest}-${stamp}.backup`);
    }
    const error = errorOf(() => open(file, { migrations: tooNew }));
    expect(error.message).toContain('backup');
    expect(error.message).toContain('was not changed');
    expect(readFileSync(file).equals(before)).toBe(true);
  });

  test('a newer file is refused by its number and not changed', () => {
    const file = closedFile();
    open(file, { migrations: [...migrations, addNote] }).close();
    const before = readFileSync(file);
    const error = errorOf(() => open(file));
    expect(error.kind).toBe('newer');
    expect(error.message).toContain(`version ${next}`);
    expect(error.message).toContain(`up to ${latest}`);
    expect(readFileSync(file).equals(before)).toBe(true);
  });

  test("another program's database is refused and not changed", () => {
    const file = ownFile();
    const other = new Database(file);
    other.exec('CREATE TABLE recipes (name TEXT)');
    other.close();
    const before = readFileSync(file);
    expect(errorOf(() => open(file)).kind).toBe('foreign');
    expect(readFileSync(file).equals(before)).toBe(true);
  });
});

describe('damage', () => {
  test('a file that is no database is kept beside, and a fresh one is opened', () => {
    const file = ownFile();
    writeFileSync(file, 'This is a shopping list. '.repeat(400));
    const { db, notices } = open(file);
    expect(db.prepare('SELECT count(*) FROM runs').pluck().get()).toBe(0);
    const kept = namesBeside(file).filter((name) => name.includes('.damaged-'));
    expect(kept).toHaveLength(1);
    expect(readFileSync(join(dirname(file), kept[0] ?? ''), 'utf8')).toContain('shopping list');
    expect(notices.join(' ')).toContain(kept[0]);
  });

  test('a file with a spoilt page fails quick_check, is kept byte for byte, and replaced', () => {
    const file = ownFile();
    const bench = openBenchFile(file);
    bench.records.createRun(aRun('night-1'));
    bench.append('night-1', readings(5000));
    bench.close();
    const bytes = readFileSync(file);
    // Every page of the second half: some of them hold readings.
    bytes.fill(0xa5, Math.floor(bytes.length / 2 / 4096) * 4096);
    writeFileSync(file, bytes);

    const { db, notices } = open(file);
    expect(db.prepare('SELECT count(*) FROM runs').pluck().get()).toBe(0);
    const kept = namesBeside(file).filter((name) => /\.damaged-\d{8}T\d{6}Z$/.test(name));
    expect(kept).toHaveLength(1);
    expect(readFileSync(join(dirname(file), kept[0] ?? '')).equals(bytes)).toBe(true);
    expect(notices[0]).toContain('damaged');
  });

  test('the journal of a damaged file is kept with it', () => {
    const file = ownFile();
    const bench = openBenchFile(file);
    bench.records.createRun(aRun('night-1'));
    bench.append('night-1', readings(5000));
    bench.db.pragma('wal_checkpoint(TRUNCATE)');
    bench.records.appendEvent(anEvent('night-1'));
    // As after a crash: what was committed last is in the journal only.
    const crashed = ownFile();
    const bytes = readFileSync(file);
    bytes.fill(0xa5, Math.floor(bytes.length / 2 / 4096) * 4096);
    writeFileSync(crashed, bytes);
    const journal = readFileSync(`${file}-wal`);
    expect(journal.length).toBeGreaterThan(0);
    writeFileSync(`${crashed}-wal`, journal);

    expect(open(crashed).notices[0]).toContain('damaged');
    const kept = namesBeside(crashed).find((name) => /\.damaged-.*-wal$/.test(name));
    expect(kept).toBeDefined();
    expect(readFileSync(join(dirname(crashed), kept ?? '')).equals(journal)).toBe(true);
  });

  test('an empty file counts as fresh', () => {
    const file = ownFile();
    writeFileSync(file, '');
    expect(open(file).notices).toEqual([]);
  });
});

describe('places that cannot be written', () => {
  test('a path through a file is refused with the path', () => {
    const folder = ownFolder();
    writeFileSync(join(folder, 'notes'), 'not a folder');
    const file = join(folder, 'notes', 'bench.db');
    const error = errorOf(() => open(file));
    expect(error.kind).toBe('cannotOpen');
    expect(error.message).toContain(file);
  });

  test('a folder in place of the file is refused with the path', () => {
    const file = ownFile();
    mkdirSync(file);
    const error = errorOf(() => open(file));
    expect(error.kind).toBe('cannotOpen');
    expect(error.message).toContain(file);
  });
});

describe('one writer only', () => {
  test('a second writer is told which process holds the file, and the first goes on', () => {
    const file = ownFile();
    const bench = openBenchFile(file);
    const error = errorOf(() => open(file));
    expect(error.kind).toBe('busy');
    expect(error.message).toContain(`process ${process.pid}`);
    expect(error.message).toContain(file);
    bench.records.createRun(aRun('night-1'));
    expect(bench.records.run('night-1')?.id).toBe('night-1');
  });

  test('another name of the same file meets the same lock', () => {
    const file = ownFile();
    open(file);
    const alias = join(ownFolder(), 'alias.db');
    symlinkSync(file, alias);
    expect(errorOf(() => open(alias)).kind).toBe('busy');
  });

  test('a closed file can be opened again at once', () => {
    const file = ownFile();
    open(file).close();
    expect(open(file).db.open).toBe(true);
  });

  test('a refused opening lets go of the lock', () => {
    const file = closedFile();
    open(file, { migrations: [...migrations, addNote] }).close();
    expect(errorOf(() => open(file)).kind).toBe('newer');
    expect(open(file, { migrations: [...migrations, addNote] }).db.open).toBe(true);
  });
});
