/** A thread that makes one copy of the database, removes the oldest ones, and ends. */

import { mkdirSync } from 'node:fs';
import { parentPort, workerData } from 'node:worker_threads';
import { backUpDatabase } from './backup.ts';
import type { BackupThreadAnswer, BackupThreadOptions } from './backup-aside.ts';
import { StoreError, toStoreError } from './errors.ts';
import { backupName, removeOldBackups } from './kept-backups.ts';

function isOptions(value: unknown): value is BackupThreadOptions {
  return (
    typeof value === 'object' &&
    value !== null &&
    'database' in value &&
    typeof value.database === 'string' &&
    'folder' in value &&
    typeof value.folder === 'string' &&
    'keep' in value &&
    typeof value.keep === 'number'
  );
}

function copy({ database, folder, keep }: BackupThreadOptions): BackupThreadAnswer {
  try {
    mkdirSync(folder, { recursive: true, mode: 0o700 });
    const facts = backUpDatabase(database, backupName(folder, database));
    // Only once the new one has been read back.
    return { ok: true, facts, removed: removeOldBackups(folder, database, keep) };
  } catch (error) {
    const { kind, message } = toStoreError(error, `Cannot copy ${database} to ${folder}`);
    return { ok: false, error: { kind, message } };
  }
}

if (parentPort === null || !isOptions(workerData)) {
  throw new StoreError('invalid', 'This file is a thread of the store and does not run by itself.');
}
parentPort.postMessage(copy(workerData), []);
