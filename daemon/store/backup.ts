/** Copies the database while it is in use, and puts a copy back in its place. */

import Database from 'better-sqlite3';
import { copyFileSync, existsSync, renameSync, rmSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { freeName, inspect, stamp, syncToDisk, withLinksResolved } from './database.ts';
import { StoreError, toStoreError } from './errors.ts';
import { holdExclusively } from './exclusive.ts';
import { latestVersion, migrations, versionOf } from './migrations.ts';

const busyTimeoutMs = 5_000;

export interface BackupFacts {
  readonly file: string;
  readonly runs: number;
  readonly version: number;
}

/**
 * Writes a copy of the database to a new file, checked by reading it back; the daemon may run
 * meanwhile. Throws a `StoreError`: `cannotOpen` where the target is there already or the database
 * is not, `damaged`, `foreign`, `newer`, `diskFull` or `io`. A copy that fails is not left behind.
 */
export function backUpDatabase(file: string, target: string): BackupFacts {
  const copy = resolve(target);
  if (!existsSync(file)) {
    throw new StoreError('cannotOpen', `There is no database ${file} to copy.`);
  }
  if (existsSync(copy)) {
    throw new StoreError('cannotOpen', `${copy} is there already and is not written over.`);
  }
  refuseUnusable(file);
  let source: Database.Database | undefined;
  try {
    source = new Database(file, { readonly: true, fileMustExist: true, timeout: busyTimeoutMs });
    source.prepare('VACUUM INTO ?').run(copy);
    for (const path of [copy, dirname(copy)]) syncToDisk(path);
    return factsOf(copy);
  } catch (error) {
    rmSync(copy, { force: true });
    throw toStoreError(error, `Cannot write the copy ${copy}`);
  } finally {
    source?.close();
  }
}

export interface RestoreFacts extends BackupFacts {
  /** Where the database that stood there before is kept; null where there was none. */
  readonly keptAs: string | null;
}

/**
 * Puts a copy in the place of the database. What stood there is kept beside it under another name,
 * journal and all. Throws a `StoreError`: `busy` while a daemon runs, and as `backUpDatabase` for a
 * copy that cannot be used; nothing is then changed.
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
  try {
    const fresh = freeName(`${file}.restoring`);
    copyFileSync(source, fresh);
    try {
      syncToDisk(fresh);
      factsOf(fresh);
    } catch (error) {
      rmSync(fresh, { force: true });
      throw error;
    }
    const keptAs = existsSync(file) ? keepBeside(file) : null;
    renameSync(fresh, file);
    syncToDisk(dirname(file));
    return { ...factsOf(file), keptAs };
  } catch (error) {
    throw toStoreError(error, `Cannot put ${source} in the place of ${file}`);
  } finally {
    hold.release();
  }
}

function keepBeside(file: string): string {
  const kept = freeName(`${file}.before-restore-${stamp()}`);
  for (const part of ['-wal', '-shm']) {
    if (existsSync(file + part)) renameSync(file + part, kept + part);
  }
  renameSync(file, kept);
  return kept;
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
    const runs = Number(db.prepare('SELECT count(*) FROM runs').pluck().get());
    return { file, runs, version: versionOf(db) };
  } finally {
    db.close();
  }
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
