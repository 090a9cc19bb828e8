/** Opens the database file for writing: checked, brought up to date, durable, and held alone. */

import Database from 'better-sqlite3';
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
} from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import { StoreError, toStoreError } from './errors.ts';
import { holdExclusively } from './exclusive.ts';
import { brokenJournal } from './journal-check.ts';
import { syncToDisk } from './sync-to-disk.ts';
import { forgetDamage, noteDamage, untoldDamage } from './untold-damage.ts';
import {
  applicationId,
  latestVersion,
  migrate,
  migrations,
  versionOf,
  type Migration,
} from './migrations.ts';

/** Wait this long for another connection's lock before giving up, ms. */
const busyTimeoutMs = 2000;
const journalLimitBytes = 64 * 1024 * 1024;
const fullSync = 2;

export interface OpenOptions {
  readonly migrations?: readonly Migration[];
  /** For tests only: the file may not grow beyond this many pages, as on a full disk. */
  readonly maxPages?: number;
  readonly onNotice: (sentence: string) => void;
  /** Told where a damaged file is kept; `onNotice` if not given. */
  readonly onDamage?: (sentence: string) => void;
}

export interface OpenDatabase {
  readonly db: Database.Database;
  /** The file with symbolic links resolved. */
  readonly file: string;
  close(): void;
}

/**
 * Opens `file`, makes its folder where it is missing, and holds it against a second writer.
 * A damaged file is kept beside under another name and a fresh one is opened, with a notice.
 * Throws a `StoreError`: `busy`, `newer`, `foreign`, `cannotOpen`, `migrationFailed`, `diskFull`,
 * `io` or `missingBinding`.
 */
export function openDatabase(given: string, options: OpenOptions): OpenDatabase {
  const list = options.migrations ?? migrations;
  const file = withLinksResolved(given);
  const hold = holdExclusively(file);
  let db: Database.Database | undefined;
  try {
    const damage = [untoldDamage(file), keepBrokenJournal(file)];
    const found = inspect(file, list);
    if (found.kind === 'damaged') damage.push(setAside(file, found.why));
    const told = damage.filter((one) => one !== null).join(' ');
    if (told !== '') (options.onDamage ?? options.onNotice)(told);
    if (found.kind === 'older') backUp(file, found.version, options.onNotice);
    db = new Database(file, { timeout: busyTimeoutMs });
    makeDurable(db, file);
    migrate(db, file, list);
    if (found.kind === 'older') {
      options.onNotice(
        `${file} was brought from version ${found.version} to ${latestVersion(list)}.`,
      );
    }
    if (options.maxPages !== undefined) db.pragma(`max_page_count = ${options.maxPages}`);
  } catch (error) {
    db?.close();
    hold.release();
    throw toStoreError(error, `Cannot open the database ${file}`);
  }
  const opened = db;
  return {
    db: opened,
    file,
    close: () => {
      try {
        opened.close();
      } finally {
        hold.release();
      }
    },
  };
}

/** So that two names of one file meet at one lock. */
export function withLinksResolved(given: string): string {
  const path = resolve(given);
  try {
    mkdirSync(dirname(path), { recursive: true, mode: 0o700 });
    if (existsSync(path) && !statSync(path).isFile()) throw new Error('it is not a file');
    return existsSync(path)
      ? realpathSync(path)
      : join(realpathSync(dirname(path)), basename(path));
  } catch (error) {
    const detail = error instanceof Error ? error.message : String(error);
    throw new StoreError('cannotOpen', `Cannot open the database ${path}: ${detail}.`);
  }
}

/** The alarms about the damage of this log are in it; until then each opening tells of it. */
export function damageIsTold(given: string): void {
  forgetDamage(withLinksResolved(given));
}

export type Found =
  | { readonly kind: 'fresh' }
  | { readonly kind: 'current' }
  | { readonly kind: 'older'; readonly version: number }
  | { readonly kind: 'damaged'; readonly why: string };

/** Looks at the file through a read-only connection, which leaves a damaged one as it is. */
export function inspect(file: string, list: readonly Migration[]): Found {
  if (!existsSync(file)) return { kind: 'fresh' };
  const db = new Database(file, { readonly: true, fileMustExist: true, timeout: busyTimeoutMs });
  try {
    const version = versionOf(db);
    const id = Number(db.pragma('application_id', { simple: true }));
    const tables = Number(db.prepare('SELECT count(*) FROM sqlite_schema').pluck().get());
    if (tables > 0 && id !== applicationId) {
      throw new StoreError(
        'foreign',
        `${file} is the database of another program. Give Nightbath a file of its own.`,
      );
    }
    if (version > latestVersion(list)) {
      throw new StoreError(
        'newer',
        `${file} is of version ${version}; this Nightbath knows versions up to ` +
          `${latestVersion(list)}. Update Nightbath, or give it another file. Nothing was changed.`,
      );
    }
    const check: unknown = db.pragma('quick_check(1)', { simple: true });
    if (check !== 'ok') return { kind: 'damaged', why: String(check) };
    if (tables === 0) return { kind: 'fresh' };
    return version < latestVersion(list) ? { kind: 'older', version } : { kind: 'current' };
  } catch (error) {
    const problem = toStoreError(error, `Cannot read ${file}`);
    if (problem.kind === 'damaged') return { kind: 'damaged', why: problem.message };
    throw problem;
  } finally {
    db.close();
  }
}

/** A time as a part of a file name: 20261125T213000Z. */
export function stamp(): string {
  return new Date().toISOString().replaceAll(/[-:]|\.\d+/g, '');
}

export function freeName(wanted: string): string {
  let name = wanted;
  for (let n = 2; existsSync(name); n += 1) name = `${wanted}-${n}`;
  return name;
}

/** Keeps the damaged file, with its journal, which may hold what can still be saved; says so. */
function setAside(file: string, why: string): string {
  const kept = freeName(`${file}.damaged-${stamp()}`);
  const found =
    `The database ${file} is damaged (${why}). It is kept as ${kept}, and a fresh one was begun: ` +
    'earlier runs are not in the log until a backup is restored.';
  noteDamage(file, found);
  for (const part of ['-wal', '-shm']) {
    if (existsSync(file + part)) renameSync(file + part, kept + part);
  }
  renameSync(file, kept);
  return found;
}

/**
 * What a broken journal still holds up to its first gap is sound, and is gone on with; the rest is kept
 * with a copy of the file, for whoever knows how to read it. Says so; null where the journal is whole.
 */
function keepBrokenJournal(file: string): string | null {
  const why = brokenJournal(file);
  if (why === null) return null;
  const kept = freeName(`${file}.damaged-${stamp()}`);
  let where = `A copy is kept as ${kept}.`;
  try {
    for (const part of ['', '-wal']) {
      if (existsSync(file + part)) copyFileSync(file + part, kept + part);
    }
  } catch (error) {
    where = `No copy of it could be kept: ${error instanceof Error ? error.message : String(error)}.`;
  }
  const found =
    `The newest part of the database ${file} is lost: ${why}. ${where} ` +
    'What was stored before the damage is in the log.';
  noteDamage(file, found);
  return found;
}

/** A checked copy on disk before anything is changed. */
function backUp(file: string, version: number, onNotice: (sentence: string) => void): void {
  const copy = freeName(`${file}.version-${version}-${stamp()}.backup`);
  const source = new Database(file, { fileMustExist: true, timeout: busyTimeoutMs });
  try {
    source.prepare('VACUUM INTO ?').run(copy);
    for (const path of [copy, dirname(copy)]) syncToDisk(path);
    const back = new Database(copy, { readonly: true, fileMustExist: true });
    const check: unknown = back.pragma('quick_check(1)', { simple: true });
    const copied = versionOf(back);
    back.close();
    if (check !== 'ok' || copied !== version) {
      throw new StoreError('io', `The backup ${copy} does not read back as it was written.`);
    }
  } catch (error) {
    rmSync(copy, { force: true });
    const cause = toStoreError(error, `Cannot write the backup ${copy}`);
    throw new StoreError(cause.kind, `${cause.message} The database was not changed.`, { cause });
  } finally {
    source.close();
  }
  onNotice(`Before the update, ${file} was copied to ${copy}.`);
}

/**
 * Sets what makes a commit outlive a power cut and reads it back: better-sqlite3 opens a file in
 * WAL mode with `synchronous` at NORMAL, whatever it was set to before.
 */
function makeDurable(db: Database.Database, file: string): void {
  const wanted: readonly (readonly [name: string, set: string, back: string | number])[] = [
    ['journal_mode', 'WAL', 'wal'],
    ['synchronous', 'FULL', fullSync],
    ['wal_autocheckpoint', '1000', 1000],
    ['journal_size_limit', String(journalLimitBytes), journalLimitBytes],
    ['busy_timeout', String(busyTimeoutMs), busyTimeoutMs],
    // KiB; the writer touches the ends of its tables only.
    ['cache_size', '-4000', -4000],
  ];
  for (const [name, set, back] of wanted) {
    db.pragma(`${name} = ${set}`);
    const got: unknown = db.pragma(name, { simple: true });
    if (got !== back) {
      throw new StoreError(
        'cannotOpen',
        `The database ${file} does not accept ${name} = ${set}: it reads back as ${String(got)}. ` +
          'Keep it on a local disk.',
      );
    }
  }
}
