/** Keeps a second writer away: an operating-system lock that dies with the process that holds it. */

import Database from 'better-sqlite3';
import { StoreError, toStoreError } from './errors.ts';

export interface Hold {
  release(): void;
}

/**
 * Holds `<file>.lock` until released. The lock is SQLite's own on a file of its own, so the kernel
 * drops it when the process dies, however it dies: there are no stale locks, and a process id
 * used again by a stranger is never mistaken for the holder.
 * Throws a `StoreError` of kind `busy` naming the holder's process.
 */
export function holdExclusively(file: string): Hold {
  const lockFile = `${file}.lock`;
  let db: Database.Database | undefined;
  try {
    db = new Database(lockFile, { timeout: 500 });
    // Reserved, not exclusive: others cannot write but can still read who holds it.
    db.exec('BEGIN IMMEDIATE');
    db.exec('CREATE TABLE IF NOT EXISTS holder (pid INTEGER NOT NULL)');
    db.exec('DELETE FROM holder');
    db.prepare('INSERT INTO holder (pid) VALUES (?)').run(process.pid);
    db.exec('COMMIT');
    db.exec('BEGIN IMMEDIATE');
  } catch (error) {
    const problem = toStoreError(error, `Cannot lock ${lockFile}`);
    const holder = problem.kind === 'busy' && db !== undefined ? holderOf(db) : '';
    db?.close();
    if (problem.kind === 'busy') {
      throw new StoreError(
        'busy',
        `Another Nightbath${holder} is already writing to ${file}. ` +
          'Only one may: end it first, or give this one another database file.',
      );
    }
    if (problem.kind === 'damaged') {
      throw new StoreError(
        'cannotOpen',
        `The lock file ${lockFile} is damaged. Make sure no other Nightbath runs, then delete it.`,
      );
    }
    throw problem;
  }
  const held = db;
  return { release: () => held.close() };
}

function holderOf(db: Database.Database): string {
  try {
    const pid: unknown = db.prepare('SELECT pid FROM holder').pluck().get();
    return typeof pid === 'number' ? ` (process ${pid})` : '';
  } catch {
    return '';
  }
}
