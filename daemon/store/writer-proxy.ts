/** The writer as the control thread sees it: promises, batches and bounds in front of a thread. */

import type { Worker } from 'node:worker_threads';
import type { Alarm, EventRow, ReadingRow, RunRecord } from '../wire/run.ts';
import { isAside } from './aside-operations.ts';
import {
  checkedAlarm,
  checkedEvent,
  checkedFinite,
  checkedPatch,
  checkedPosting,
  checkedRun,
  checkedWhole,
} from './checks.ts';
import { CommitFailures } from './commit-failures.ts';
import type { NewAlarm, NewEvent, Posting, RunPatch, StoreWriter } from './door.ts';
import { closedError, isCommitFailure, StoreError, type ErrorFields } from './errors.ts';
import { interruptedStore } from './interrupted-proxy.ts';
import { ledgerStore } from './ledger-proxy.ts';
import { LibraryProxy } from './library-proxy.ts';
import { OutboxProxy } from './outbox-proxy.ts';
import { runBookStore } from './run-book-proxy.ts';
import { sensorStore } from './sensor-proxy.ts';
import { batchMs, BatchPacker, batchRows, queueRows } from './readings-batch.ts';
import { ProbesProxy } from './probes-proxy.ts';
import { StallWatch } from './stall-watch.ts';
import { reads, type FromThread, type OperationCall, type ToThread } from './thread-messages.ts';

export interface ProxyOptions {
  readonly file: string;
  readonly onNotice: (sentence: string) => void;
  /** How long the thread may leave a request unanswered, ms; measured in ticks of this thread. */
  readonly stallMs: number;
}

interface Waiting {
  /** What becomes of it says whether records can be written. */
  readonly writes: boolean;
  /** A failure is the asker's alone. */
  readonly aside?: boolean;
  readonly resolve: (value: unknown) => void;
  readonly reject: (error: StoreError) => void;
}

export class ThreadedWriter implements StoreWriter {
  readonly interrupted = interruptedStore((callWith) => this.#ask(callWith));
  readonly ledger = ledgerStore((callWith) => this.#ask(callWith));
  readonly library = new LibraryProxy((callWith) => this.#ask(callWith));
  readonly probes = new ProbesProxy((callWith) => this.#ask(callWith));
  readonly outbox = new OutboxProxy((callWith) => this.#ask(callWith));
  readonly sensors = sensorStore((callWith) => this.#ask(callWith));
  readonly runBook = runBookStore((callWith) => this.#ask(callWith));
  readonly #worker: Worker;
  readonly #options: ProxyOptions;
  readonly #waiting = new Map<number, Waiting>();
  readonly #failures = new CommitFailures();
  readonly #packer = new BatchPacker();
  readonly #stall: StallWatch;
  readonly #refusedRunIds = new Set<string>();
  #nextId = 1;
  /** Handed over and not yet on disk. */
  #rowsInThread = 0;
  #dropped = 0;
  #batchTimer: NodeJS.Timeout | undefined;
  /** Why nothing can be written any more; null while the thread lives. */
  #dead: StoreError | null = null;
  #closing: Promise<void> | null = null;
  #closed: Waiting | null = null;

  /** Takes over a worker that has said it opened the file. */
  constructor(worker: Worker, options: ProxyOptions) {
    this.#worker = worker;
    this.#options = options;
    const isIdle = () =>
      this.#waiting.size === 0 && this.#rowsInThread === 0 && this.#closed === null;
    this.#stall = new StallWatch(options.stallMs, isIdle, () => this.#onStalled());
    worker.on('message', (message: FromThread) => this.#take(message));
    worker.on('error', (error) => this.#die('io', `stopped with an error: ${error.message}`));
    worker.on('exit', (code) => this.#die('io', `ended by itself with code ${code}`));
  }

  get failing(): boolean {
    return this.#failures.failing || (this.#dead !== null && this.#dead.kind !== 'closed');
  }

  unsettledRuns(): Promise<readonly RunRecord[]> {
    return this.#ask((id) => ({ kind: 'call', id, name: 'unsettledRuns', given: [] }));
  }

  continuedBy(runId: string): Promise<string | null> {
    return this.#ask((id) => ({ kind: 'call', id, name: 'continuedBy', given: [runId] }));
  }

  run(runId: string): Promise<RunRecord | null> {
    return this.#ask((id) => ({ kind: 'call', id, name: 'run', given: [runId] }));
  }

  lastReading(runId: string): Promise<ReadingRow | null> {
    return this.#ask((id) => ({ kind: 'call', id, name: 'lastReading', given: [runId] }));
  }

  standingAlarms(): Promise<readonly Alarm[]> {
    return this.#ask((id) => ({ kind: 'call', id, name: 'standingAlarms', given: [] }));
  }

  async createRun(run: RunRecord): Promise<void> {
    const checked = checkedRun(run);
    await this.#ask((id) => ({ kind: 'call', id, name: 'createRun', given: [checked] }));
  }

  patchRun(runId: string, patch: RunPatch): Promise<void> {
    return this.#sayIfRefused(async () => {
      const checked = checkedPatch(patch);
      await this.#ask((id) => ({ kind: 'call', id, name: 'patchRun', given: [runId, checked] }));
    });
  }

  appendEvent(event: NewEvent, posting?: Posting): Promise<EventRow> {
    return this.#sayIfRefused(() => {
      const checked = checkedEvent(event);
      const given: [NewEvent, Posting?] =
        posting === undefined ? [checked] : [checked, checkedPosting(posting)];
      return this.#ask((id) => ({ kind: 'call', id, name: 'appendEvent', given }));
    });
  }

  raiseAlarm(
    event: NewEvent,
    alarm: NewAlarm,
    posting?: Posting,
  ): Promise<{ event: EventRow; alarm: Alarm }> {
    return this.#sayIfRefused(() => {
      const checked: [NewEvent, NewAlarm] = [checkedEvent(event), checkedAlarm(alarm)];
      const given: [NewEvent, NewAlarm, Posting?] =
        posting === undefined ? checked : [...checked, checkedPosting(posting)];
      return this.#ask((id) => ({ kind: 'call', id, name: 'raiseAlarm', given }));
    });
  }

  async acknowledgeAlarm(alarmId: number, wallMs: number): Promise<Alarm | null> {
    const given: [number, number] = [checkedAlarmId(alarmId), checkedFinite('wallMs', wallMs)];
    return this.#ask((id) => ({ kind: 'call', id, name: 'acknowledgeAlarm', given }));
  }

  async clearAlarm(alarmId: number, wallMs: number | null): Promise<Alarm | null> {
    const given: [number, number | null] = [
      checkedAlarmId(alarmId),
      wallMs === null ? null : checkedFinite('wallMs', wallMs),
    ];
    return this.#ask((id) => ({ kind: 'call', id, name: 'clearAlarm', given }));
  }

  appendReading(runId: string, row: ReadingRow): void {
    if (this.#dead !== null || this.#closing !== null) {
      const lost = this.#dead !== null && this.#dead.kind !== 'closed';
      this.#drop(lost ? 'the database is lost' : 'the database is closed');
      return;
    }
    if (this.#packer.count + this.#rowsInThread >= queueRows) {
      this.#drop(`${queueRows} readings already wait for the disk`);
      return;
    }
    const refusal = this.#packer.add(runId, row);
    if (refusal !== null) {
      this.#sayRefused(runId, refusal);
      return;
    }
    if (this.#packer.count >= batchRows) this.#sendReadings();
    else this.#batchTimer ??= setTimeout(() => this.#sendReadings(), batchMs);
  }

  onFailure(listener: (reason: string) => void): void {
    this.#failures.listen(listener);
    const reason = this.#dead;
    if (reason !== null && reason.kind !== 'closed') {
      queueMicrotask(() => listener(reason.message));
    }
  }

  close(): Promise<void> {
    this.#closing ??= this.#dead === null ? this.#closeThread() : Promise.resolve();
    return this.#closing;
  }

  #closeThread(): Promise<void> {
    this.#sendReadings();
    return new Promise<void>((resolve, reject) => {
      this.#closed = { writes: true, resolve: () => resolve(), reject };
      this.#post({ kind: 'close' });
      this.#watch();
    });
  }

  /** A record that is refused is said aloud too: who writes it may not look at the promise. */
  async #sayIfRefused<T>(write: () => Promise<T>): Promise<T> {
    try {
      return await write();
    } catch (error) {
      if (error instanceof StoreError && error.kind === 'invalid') {
        this.#options.onNotice(error.message);
      }
      throw error;
    }
  }

  #ask<Answer>(callWith: (id: number) => OperationCall): Promise<Answer> {
    if (this.#dead !== null) return Promise.reject(this.#dead);
    if (this.#closing !== null) return Promise.reject(closedError(this.#options.file));
    // Readings first, so that the file never knows of an end before what led up to it.
    this.#sendReadings();
    const call = callWith(this.#nextId);
    this.#nextId += 1;
    return new Promise<Answer>((resolve, reject) => {
      // The thread is built together with this file and answers each call in its own words.
      // oxlint-disable-next-line typescript/no-unsafe-type-assertion
      const settle = (value: unknown): void => resolve(value as Answer);
      const aside = isAside(call.name);
      const writes = !aside && !reads.has(call.name);
      this.#waiting.set(call.id, { writes, aside, resolve: settle, reject });
      this.#post(call);
      this.#watch();
    });
  }

  #sendReadings(): void {
    clearTimeout(this.#batchTimer);
    this.#batchTimer = undefined;
    if (this.#packer.count === 0 || this.#dead !== null) return;
    this.#rowsInThread += this.#packer.count;
    const batch = this.#packer.take();
    this.#post({ kind: 'readings', batch }, [batch.figures.buffer]);
    this.#watch();
  }

  #post(message: ToThread, transfer: ArrayBuffer[] = []): void {
    this.#worker.postMessage(message, transfer);
  }

  #take(message: FromThread): void {
    this.#stall.heard();
    switch (message.kind) {
      case 'answer':
        this.#answer(message.id, message.value);
        break;
      case 'refusal':
        this.#refuse(message.id, message.error);
        break;
      case 'readingsSettled':
        this.#failures.over('readings');
        this.#rowsInThread -= message.rows;
        this.#sayDropped();
        break;
      case 'readingsFailed':
        this.#failures.failed('readings', message.error);
        break;
      case 'notice':
        this.#options.onNotice(message.sentence);
        break;
      case 'closed':
        this.#finish(message.lostReadings, message.error);
        break;
      case 'damaged':
      case 'opened':
      case 'notOpened':
        break;
    }
  }

  #answer(id: number, value: unknown): void {
    const waiting = this.#settle(id);
    if (waiting?.writes === true) this.#failures.over('records');
    waiting?.resolve(value);
  }

  #settle(id: number): Waiting | undefined {
    const waiting = this.#waiting.get(id);
    this.#waiting.delete(id);
    return waiting;
  }

  #refuse(id: number, { kind, message }: ErrorFields): void {
    const error = new StoreError(kind, message);
    const waiting = this.#settle(id);
    waiting?.reject(error);
    if (isCommitFailure(error) && waiting?.aside !== true) this.#failures.failed('records', error);
  }

  #finish(lostReadings: number, error: ErrorFields | null): void {
    this.#dead = closedError(this.#options.file);
    this.#stall.stop();
    for (const { reject } of this.#waiting.values()) reject(this.#dead);
    this.#waiting.clear();
    if (error === null) {
      this.#closed?.resolve(undefined);
      return;
    }
    const lost = lostReadings === 0 ? '' : ` The last ${lostReadings} readings are lost.`;
    this.#closed?.reject(new StoreError(error.kind, error.message + lost));
  }

  #die(kind: 'io' | 'stalled', how: string): void {
    if (this.#dead !== null) return;
    const lost = this.#rowsInThread + this.#packer.count;
    this.#dead = new StoreError(
      kind,
      `The database thread for ${this.#options.file} ${how}. Nothing more can be stored until ` +
        `Nightbath is started again${lost === 0 ? '' : `; up to ${lost} readings may be lost`}.`,
    );
    clearTimeout(this.#batchTimer);
    this.#stall.stop();
    for (const { reject } of this.#waiting.values()) reject(this.#dead);
    this.#waiting.clear();
    this.#closed?.reject(this.#dead);
    this.#failures.tell(this.#dead.message);
  }

  #drop(why: string): void {
    this.#dropped += 1;
    if (this.#dropped > 1) return;
    this.#options.onNotice(`Readings are being dropped: ${why}.`);
  }

  /** Once a run: a meter that reads nonsense does so at every poll. */
  #sayRefused(runId: string, refusal: string): void {
    if (this.#refusedRunIds.has(runId)) return;
    this.#refusedRunIds.add(runId);
    this.#options.onNotice(`${refusal} More like it in this run are not reported.`);
  }

  #sayDropped(): void {
    if (this.#dropped === 0) return;
    this.#options.onNotice(`${this.#dropped} readings were dropped; the disk keeps up again.`);
    this.#dropped = 0;
  }

  #watch(): void {
    if (this.#dead === null) this.#stall.start();
  }

  #onStalled(): void {
    this.#die('stalled', `has not answered for ${this.#options.stallMs} ms`);
    void this.#worker.terminate();
  }
}

function checkedAlarmId(id: number): number {
  return checkedWhole('id', id, Number.MIN_SAFE_INTEGER, Number.MAX_SAFE_INTEGER);
}
