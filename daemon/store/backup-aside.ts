/** Copies the database in a thread of its own, so that neither the loop nor the writer waits for it. */

import { existsSync } from 'node:fs';
import { Worker } from 'node:worker_threads';
import type { BackupFacts } from './backup.ts';
import { StoreError, type ErrorFields } from './errors.ts';

export interface BackupThreadOptions {
  readonly database: string;
  readonly folder: string;
  /** So many of the newest copies stay. */
  readonly keep: number;
}

export type BackupThreadAnswer =
  | { readonly ok: true; readonly facts: BackupFacts; readonly removed: readonly string[] }
  | { readonly ok: false; readonly error: ErrorFields };

const threadHeapMb = 64;

/** Resolves once the copy was read back and the oldest ones are gone; rejects with a `StoreError`. */
export async function backUpAside(options: BackupThreadOptions): Promise<BackupFacts> {
  const worker = new Worker(threadFile(), {
    workerData: options,
    name: 'backup',
    execArgv: [],
    resourceLimits: { maxOldGenerationSizeMb: threadHeapMb },
  });
  const answer = await new Promise<BackupThreadAnswer>((resolve) => {
    const failed = (message: string): void =>
      resolve({ ok: false, error: { kind: 'io', message } });
    worker.once('message', resolve);
    worker.once('error', (error) => failed(`The copy failed: ${error.message}.`));
    worker.once('exit', (code) => failed(`The copy ended by itself with code ${code}.`));
  });
  if (!answer.ok) throw new StoreError(answer.error.kind, answer.error.message);
  return answer.facts;
}

/** The compiled thread, beside this file once built, else the one in `dist/`. */
function threadFile(): URL {
  const places = ['./backup-thread.js', '../../dist/daemon/store/backup-thread.js'];
  for (const place of places) {
    const url = new URL(place, import.meta.url);
    if (existsSync(url)) return url;
  }
  throw new StoreError(
    'notBuilt',
    'The backup thread is not compiled: run `npm run build:daemon` first.',
  );
}
