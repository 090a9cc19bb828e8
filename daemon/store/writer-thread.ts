/** The thread that owns the database file: takes messages in order, commits, answers. */

import { parentPort, workerData, type MessagePort } from 'node:worker_threads';
import { openDatabase, type OpenDatabase } from './database.ts';
import { StoreError, toStoreError } from './errors.ts';
import { LedgerWriter } from './ledger-writer.ts';
import { LibraryWriter } from './library-writer.ts';
import { ProbesWriter } from './probes-writer.ts';
import { OutboxWriter } from './outbox-writer.ts';
import { perform } from './perform.ts';
import { batchStride, type ReadingsBatch } from './readings-batch.ts';
import { RunBookWriter } from './run-book-writer.ts';
import { SensorWriter } from './sensor-writer.ts';
import { ReadingsWriter } from './readings-writer.ts';
import { RecordsWriter } from './records-writer.ts';
import {
  isThreadOptions,
  type FromThread,
  type OperationCall,
  type ThreadOptions,
  type ToThread,
} from './thread-messages.ts';

/** Readings that could not be committed are tried again after this, should nothing else come, ms. */
const retryMs = 5000;
/** The file was held, and two seconds have been waited for it already, ms. */
const busyRetryMs = 500;

class DatabaseThread {
  readonly #port: MessagePort;
  readonly #opened: OpenDatabase;
  readonly #writers: Parameters<typeof perform>[0];
  readonly #readings: ReadingsWriter;
  #waiting: ReadingsBatch[] = [];
  #retry: NodeJS.Timeout | undefined;

  constructor(port: MessagePort, opened: OpenDatabase) {
    this.#port = port;
    this.#opened = opened;
    this.#readings = new ReadingsWriter(opened.db);
    this.#writers = {
      library: new LibraryWriter(opened.db),
      probes: new ProbesWriter(opened.db),
      outbox: new OutboxWriter(opened.db),
      sensors: new SensorWriter(opened.db),
      runBook: new RunBookWriter(opened.db),
      ledger: new LedgerWriter(opened.db),
      records: new RecordsWriter(opened.db, (sentence) => this.#post({ kind: 'notice', sentence })),
    };
  }

  take(message: ToThread): void {
    switch (message.kind) {
      case 'readings':
        this.#waiting.push(message.batch);
        this.#commitReadings();
        break;
      case 'call':
        this.#answer(message);
        break;
      case 'close':
        this.#close();
        break;
    }
  }

  #answer(call: OperationCall): void {
    try {
      const value = perform(this.#writers, call);
      this.#post({ kind: 'answer', id: call.id, value });
    } catch (error) {
      this.#post({ kind: 'refusal', id: call.id, error: this.#fields(error) });
      return;
    }
    // What has just been written shows that the file takes writes again.
    this.#commitReadings();
  }

  #commitReadings(): void {
    clearTimeout(this.#retry);
    if (this.#waiting.length === 0) return;
    const failure = this.#tryReadings();
    if (failure === null) return;
    // As plain fields: an error that crosses threads keeps its message alone.
    const { kind, message } = failure;
    this.#post({ kind: 'readingsFailed', error: { kind, message } });
    const pauseMs = kind === 'busy' ? busyRetryMs : retryMs;
    this.#retry = setTimeout(() => this.#commitReadings(), pauseMs);
  }

  #tryReadings(): StoreError | null {
    const batches = this.#waiting;
    try {
      const { rows, unknownRunIds } = this.#readings.append(batches);
      this.#waiting = [];
      for (const id of unknownRunIds) {
        const sentence = `Readings of run ${id} were left out: there is no such run in the log.`;
        this.#post({ kind: 'notice', sentence });
      }
      this.#post({ kind: 'readingsSettled', rows });
      return null;
    } catch (error) {
      const failure = toStoreError(error, `Cannot write readings to ${this.#opened.file}`);
      // What breaks a rule of the tables would break it again: keep it from blocking the rest.
      if (failure.kind === 'invalid') {
        this.#waiting = [];
        this.#post({ kind: 'readingsSettled', rows: countOf(batches) });
      }
      return failure;
    }
  }

  #close(): void {
    clearTimeout(this.#retry);
    let failure = this.#waiting.length === 0 ? null : this.#tryReadings();
    try {
      this.#opened.close();
    } catch (error) {
      failure ??= toStoreError(error, `Cannot close ${this.#opened.file}`);
    }
    const error = failure === null ? null : { kind: failure.kind, message: failure.message };
    this.#post({ kind: 'closed', lostReadings: countOf(this.#waiting), error });
    this.#port.close();
  }

  #fields(error: unknown): { kind: StoreError['kind']; message: string } {
    const { kind, message } = toStoreError(error, `Cannot write to ${this.#opened.file}`);
    return { kind, message };
  }

  #post(message: FromThread): void {
    this.#port.postMessage(message, []);
  }
}

function countOf(batches: readonly ReadingsBatch[]): number {
  return batches.reduce((rows, batch) => rows + batch.figures.length / batchStride, 0);
}

function serve(port: MessagePort, options: ThreadOptions): void {
  const post = (message: FromThread): void => port.postMessage(message, []);
  try {
    const opened = openDatabase(options.file, {
      ...(options.maxPages === undefined ? {} : { maxPages: options.maxPages }),
      onNotice: (sentence) => post({ kind: 'notice', sentence }),
      onDamage: (sentence) => post({ kind: 'damaged', sentence }),
    });
    const thread = new DatabaseThread(port, opened);
    port.on('message', (message: ToThread) => thread.take(message));
    post({ kind: 'opened' });
  } catch (error) {
    const { kind, message } = toStoreError(error, `Cannot open the database ${options.file}`);
    post({ kind: 'notOpened', error: { kind, message } });
  }
}

if (parentPort === null || !isThreadOptions(workerData)) {
  throw new StoreError('invalid', 'This file is a thread of the store and does not run by itself.');
}
serve(parentPort, workerData);
