/** Opens the store for writing: starts the database thread and waits until the file is ready. */

import { existsSync } from 'node:fs';
import { Worker } from 'node:worker_threads';
import type { StoreWriter } from './door.ts';
import { isMissingBinding, missingBindingSentence, StoreError } from './errors.ts';
import type { FromThread, ThreadOptions } from './thread-messages.ts';
import { ThreadedWriter } from './writer-proxy.ts';

export interface StoreWriterOptions {
  /** The database file; it and its folder are made where they are missing. */
  readonly file: string;
  /** Sentences for the log and the page: a damaged file kept aside, a backup, dropped readings. */
  readonly onNotice?: (sentence: string) => void;
  /** Told where a damaged file is kept, once a fresh one is there in its place; `onNotice` if not given. */
  readonly onDamage?: (sentence: string) => void;
  /** How long the disk may stay silent before the database counts as lost, ms. 30,000 by default. */
  readonly stallMs?: number;
  /** For tests only: the file may not grow beyond this many pages, as on a full disk. */
  readonly maxPages?: number;
}

/** Room for the thread's own JavaScript; a leak there must not take the control process with it. */
const threadHeapMb = 128;

/**
 * Opens the database and resolves when it is checked, up to date and held by this process alone.
 * Rejects with a `StoreError`: `busy`, `newer`, `foreign`, `cannotOpen`, `migrationFailed`,
 * `diskFull`, `io`, `missingBinding` or `notBuilt`.
 */
export function openStoreWriter(options: StoreWriterOptions): Promise<StoreWriter> {
  const onNotice = options.onNotice ?? (() => undefined);
  const workerData: ThreadOptions = {
    file: options.file,
    ...(options.maxPages === undefined ? {} : { maxPages: options.maxPages }),
  };
  return new Promise((resolve, reject) => {
    const worker = new Worker(threadFile(), {
      workerData,
      name: 'store',
      // Flags of the process, such as those of a debugger, are not the thread's.
      execArgv: [],
      resourceLimits: { maxOldGenerationSizeMb: threadHeapMb },
    });
    const onMessage = (message: FromThread): void => {
      if (message.kind === 'notice') onNotice(message.sentence);
      if (message.kind === 'damaged') (options.onDamage ?? onNotice)(message.sentence);
      if (message.kind === 'notOpened') {
        stopListening();
        reject(new StoreError(message.error.kind, message.error.message));
      }
      if (message.kind === 'opened') {
        stopListening();
        const { file, stallMs = 30_000 } = options;
        resolve(new ThreadedWriter(worker, { file, onNotice, stallMs }));
      }
    };
    const onError = (error: Error): void => {
      stopListening();
      reject(
        isMissingBinding(error)
          ? new StoreError('missingBinding', missingBindingSentence, { cause: error })
          : new StoreError('io', `The database thread did not start: ${error.message}.`, {
              cause: error,
            }),
      );
    };
    const onExit = (code: number): void => onError(new Error(`it ended with code ${code}`));
    const stopListening = (): void => {
      worker.off('message', onMessage).off('error', onError).off('exit', onExit);
    };
    worker.on('message', onMessage).on('error', onError).on('exit', onExit);
  });
}

/**
 * The compiled thread, beside this file once built. From source it is the one in `dist/`: a thread
 * does not run TypeScript on every Node that we support.
 */
function threadFile(): URL {
  const places = ['./writer-thread.js', '../../dist/daemon/store/writer-thread.js'];
  for (const place of places) {
    const url = new URL(place, import.meta.url);
    if (existsSync(url)) return url;
  }
  throw new StoreError(
    'notBuilt',
    'The database thread is not compiled: run `npm run build:daemon` first.',
  );
}
