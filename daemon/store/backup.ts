/** Copies the database while it is in use, and puts a copy back in its place. */

import Database from 'better-sqlite3';
import { copyFileSync, existsSync, linkSync, renameSync, rmSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { freeName, inspect, stamp, withLinksResolved } from './database.ts';
import { syncToDisk } from './sync-to-disk.ts';
import { StoreError, toStoreError } from './errors.ts';
import { holdExclusively } from './exclusive.ts';
import { latestVersion, migrations, versionOf } from './migrations.ts';

const busyTimeoutMs = 5_000;

export interface BackupFacts {
  readonly file: string;
  readonly runs: number;
  readonly pieces: number;
  readonly pictures: number;
  readonly version: number;
}

/**
 * Writes a copy of the database to a new file, checked by reading it back; the daemon may run
 * meanwhile. The file bears its name only once it is whole. Throws a `StoreError`: `cannotOpen` where
 * the target is there already or the database is not, `damaged`, `foreign`, `newer`, `diskFull` or
 * `io`.
 */
export function backUpDatabase(file: string, target: string): BackupFacts {
  const copy = resolve(target);
  if (!existsSync(file)) {
    throw new StoreError('cannotOpen', `There is no database ${file} to copy.`);
  }
  refuseTaken(copy);
  refuseUnusable(file);
  const partial = freeName(`${copy}.partial`);
  try {
    copyWhole(file, partial);
    const facts = factsOf(partial);
    giveName(partial, copy);
    return { ...facts, file: copy };
  } catch (error) {
    throw toStoreError(error, `Cannot write the copy ${copy}`);
  } finally {
    rmSync(partial, { force: true });
  }
}

function refuseTaken(copy: string): void {
  if (!existsSync(copy)) return;
  throw new StoreError('cannotOpen', `${copy} is there already and is not written over.`);
}

/** Everything that is committed, journal and all, as one new file on disk. */
function copyWhole(file: string, copy: string): void {
  const source = new Database(file, {
    readonly: true,
    fileMustExist: true,
    timeout: busyTimeoutMs,
  });
  try {
    source.prepare('VACUUM INTO ?').run(copy);
  } finally {
    source.close();
  }
  for (const path of [copy, dirname(copy)]) syncToDisk(path);
}

/** A second name that is refused where it is taken, then without the first; some disks know no second names. */
function giveName(partial: string, copy: string): void {
  try {
    linkSync(partial, copy);
  } catch {
    refuseTaken(copy);
    renameSync(partial, copy);
  }
  syncToDisk(dirname(copy));
}

export interface RestoreFacts extends BackupFacts {
  /** Where the database that stood there before is kept; null where there was none. */
  readonly keptAs: string | null;
}

/**
 * Puts a copy in the place of the database. What stood there is kept beside it under another name,
 * journal and all. Throws a `StoreError`: `busy` while a daemon runs, and as `backUpDatabase` for a
 * copy that cannot be used; everything then stands as it did.
 */
export function restoreDatabase(given: string, backup: string): RestoreFacts {
  const source = resolve(backup);
  if (!existsSync(source)) throw new StoreError('cannotOpen', `There is no file ${source}.`);
  refuseUnusable(source);
  const file = withLinksResolved(given);
  if (source === file) {
    throw new StoreError('cannotOpen', `${source} is the database itself, not a copy of it.`);
  }
  const hold = holdExclusively(file);
  const fresh = freeName(`${file}.restoring`);
  try {
    copyWhole(source, fresh);
    factsOf(fresh);
    return exchange(file, fresh);
  } catch (error) {
    throw toStoreError(error, `Cannot put ${source} in the place of ${file}`);
  } finally {
    rmSync(fresh, { force: true });
    hold.release();
  }
}

const sidecars = ['-wal', '-shm'];

/**
 * The fresh file takes the name in one step, so that a file of that name stands there at every moment;
 * where that fails, what stood there keeps its names.
 */
function exchange(file: string, fresh: string): RestoreFacts {
  foldJournalIn(file);
  const moved: (readonly [from: string, to: string])[] = [];
  const kept = freeName(`${file}.before-restore-${stamp()}`);
  const stood = existsSync(file);
  try {
    if (stood) giveSecondName(file, kept);
    // A journal that was left beside would be played into the fresh file.
    for (const part of sidecars) {
      if (!existsSync(file + part)) continue;
      renameSync(file + part, kept + part);
      moved.push([file + part, kept + part]);
    }
    renameSync(fresh, file);
  } catch (error) {
    for (const [from, to] of moved.toReversed()) renameSync(to, from);
    rmSync(kept, { force: true });
    throw error;
  }
  syncToDisk(dirname(file));
  return { ...factsOf(file), keptAs: stood ? kept : null };
}

/** Some disks know no second names: there it is a copy. */
function giveSecondName(file: string, name: string): void {
  try {
    linkSync(file, name);
  } catch {
    copyFileSync(file, name);
    syncToDisk(name);
  }
}

/** The newest commits may stand in the journal only; a file of its own is easier to keep whole. */
function foldJournalIn(file: string): void {
  if (!existsSync(file) || !existsSync(`${file}-wal`)) return;
  let db: Database.Database | undefined;
  try {
    db = new Database(file, { fileMustExist: true, timeout: busyTimeoutMs });
    db.pragma('wal_checkpoint(TRUNCATE)');
  } catch {
    // A file that cannot be opened is kept as it is, with its journal.
  } finally {
    db?.close();
  }
}

/** A copy has to be a sound database of Nightbath that this version can read. */
function refuseUnusable(file: string): void {
  const found = inspect(file, migrations);
  if (found.kind === 'damaged') {
    throw new StoreError('damaged', `${file} is damaged (${found.why}) and is not copied.`);
  }
  if (found.kind === 'fresh') {
    throw new StoreError('foreign', `${file} holds no log of Nightbath.`);
  }
}

function factsOf(file: string): BackupFacts {
  const db = new Database(file, { readonly: true, fileMustExist: true, timeout: busyTimeoutMs });
  try {
    const check: unknown = db.pragma('quick_check(1)', { simple: true });
    if (check !== 'ok') throw new StoreError('io', `${file} does not read back as it was written.`);
    return {
      file,
      runs: rowsOf(db, 'runs'),
      pieces: rowsOf(db, 'pieces'),
      pictures: rowsOf(db, 'pictures'),
      version: versionOf(db),
    };
  } finally {
    db.close();
  }
}

/** An older file need not have the table yet. */
function rowsOf(db: Database.Database, table: 'runs' | 'pieces' | 'pictures'): number {
  const there = db.prepare('SELECT 1 FROM sqlite_schema WHERE name = ?').get(table);
  if (there === undefined) return 0;
  return Number(db.prepare(`SELECT count(*) FROM ${table}`).pluck().get());
}

/** What a look at the database file finds, without changing it. */
export interface DatabaseState {
  readonly kind: 'fresh' | 'current' | 'older' | 'damaged';
  readonly detail: string;
}

/** Throws a `StoreError` of kind `foreign` or `newer`, or when the file cannot be read at all. */
export function lookAtDatabase(file: string): DatabaseState {
  const found = inspect(file, migrations);
  switch (found.kind) {
    case 'fresh':
      return { kind: 'fresh', detail: 'not there yet; it is made at the first start' };
    case 'current':
      return { kind: 'current', detail: `sound, version ${latestVersion()}` };
    case 'older':
      return {
        kind: 'older',
        detail: `sound, version ${found.version}; the next start copies it and brings it to ${latestVersion()}`,
      };
    case 'damaged':
      return { kind: 'damaged', detail: found.why };
  }
}
