/**
 * The database thread and its file, in memory: answers the real writer as the real thread does,
 * takes its time, and fails in every way a disk can. What it has answered survives its process.
 */

import { EventEmitter } from 'node:events';
import type { Worker } from 'node:worker_threads';
import { lifecycles } from '../../daemon/run/model.ts';
import { StoreError, type StoreErrorKind } from '../../daemon/store/errors.ts';
import type {
  DeliveryMark,
  InterruptedRecord,
  NewAlarm,
  NewEvent,
  NewPlanChange,
  OpenDelivery,
  Posting,
  RunPatch,
} from '../../daemon/store/door.ts';
import { batchStride, type ReadingsBatch } from '../../daemon/store/readings-batch.ts';
import {
  reads,
  type FromThread,
  type OperationCall,
  type ToThread,
} from '../../daemon/store/thread-messages.ts';
import type { AlertMessage } from '../../daemon/wire/alerts.ts';
import type { Alarm, EventRow, ReadingRow, RunRecord } from '../../daemon/wire/run.ts';
import { createRandomStream, type RandomStream } from '../../drivers/simulated/random.ts';
import { isFinal } from '../../daemon/run/state.ts';
import type { Host, Process } from './host.ts';

export interface StoredReadings {
  count: number;
  last: ReadingRow | null;
  /** The sentence about the first reading that contradicts the one before it; null while none does. */
  fault: string | null;
}

/** How a disk fails: it refuses commits, or it does not answer. */
export type DiskFault = 'diskFull' | 'busy' | 'io' | 'stall' | 'slow';

/** A message in the outbox, with what became of it on each channel. */
export interface StoredMessage {
  readonly message: AlertMessage;
  readonly alarmId: number | null;
  readonly marks: Map<string, DeliveryMark>;
}

export interface DiskFile {
  readonly runs: Map<string, RunRecord>;
  readonly readings: Map<string, StoredReadings>;
  readonly events: EventRow[];
  readonly alarms: Alarm[];
  readonly messages: Map<string, StoredMessage>;
}

function emptyFile(): DiskFile {
  return { runs: new Map(), readings: new Map(), events: [], alarms: [], messages: new Map() };
}

/** Reading needs no room on a disk, and no lock. */
const onlyReads: ReadonlySet<string> = new Set([...reads, 'openDeliveries', 'channelHistory']);

const refusals: Readonly<Record<Exclude<DiskFault, 'stall' | 'slow'>, [StoreErrorKind, string]>> = {
  diskFull: ['diskFull', 'The disk is full.'],
  busy: ['busy', 'The database is locked by another program.'],
  io: ['io', 'The disk reports an error.'],
};

/** Told of what the disk now has for certain. */
export interface DiskWitness {
  committed(name: string, given: readonly unknown[]): void;
}

export class Disk {
  file = emptyFile();
  /** What is wrong with it at the moment, in the order of its coming. */
  readonly faults: DiskFault[] = [];

  /** The one that shows: a disk that refuses is not slow. */
  get fault(): DiskFault | null {
    const refuses = this.faults.find((one) => one !== 'slow' && one !== 'stall');
    return refuses ?? this.faults.at(-1) ?? null;
  }

  witness: DiskWitness = { committed: () => undefined };
  readonly #host: Host;
  readonly #random: RandomStream;
  #damaged = false;

  constructor(host: Host, seed: number) {
    this.#host = host;
    this.#random = createRandomStream(seed, 'disk');
  }

  /** A damaged file is kept aside, and a fresh one is begun beside it. */
  damage(): void {
    this.file = emptyFile();
    this.#damaged = true;
  }

  /** Whether a damaged file was put aside, and no alarm about it is stored yet. */
  foundDamaged(): boolean {
    return this.#damaged;
  }

  /** The thread of one process; the real writer takes it for a worker. */
  thread(owner: Process): Worker {
    return new DiskThread(this, this.#host, owner) as unknown as Worker;
  }

  /** As measured on a real disk: 1.5 to 3.7 ms as a rule, 20 ms at times, seldom 200 ms. */
  latencyMs(): number {
    const draw = this.#random.uniform();
    const slow = this.fault === 'slow';
    // What takes longer than this on a slow disk hangs, which is a fault of its own.
    if (draw < 0.001) return (slow ? 2_000 : 100) + this.#random.uniform() * 120;
    return (draw < 0.02 ? 20 : 1.5 + 2.2 * this.#random.uniform()) * (slow ? 40 : 1);
  }

  /** Throws a `StoreError` where the disk does not take it. */
  checkCommit(): void {
    const { fault } = this;
    if (fault === null || fault === 'stall' || fault === 'slow') return;
    const [kind, message] = refusals[fault];
    throw new StoreError(kind, message);
  }

  takeReadings({ runIds, figures }: ReadingsBatch): number {
    this.checkCommit();
    const rows = figures.length / batchStride;
    for (let row = 0; row < rows; row += 1) {
      const at = (offset: number): number => figures[row * batchStride + offset] ?? Number.NaN;
      this.#takeReading(runIds[at(0)] ?? '', {
        atMs: at(1),
        wallMs: at(2),
        volts: at(3),
        amps: at(4),
        setAmps: at(5),
        ampHours: at(6),
        thicknessMicrometres: at(7),
        lifecycle: lifecycles[at(8)] ?? 'planned',
      });
    }
    return rows;
  }

  #takeReading(runId: string, row: ReadingRow): void {
    if (!this.file.runs.has(runId)) return;
    const kept = this.file.readings.get(runId) ?? { count: 0, last: null, fault: null };
    this.file.readings.set(runId, kept);
    const { last } = kept;
    if (last !== null && row.ampHours < last.ampHours) {
      kept.fault ??= `a reading at ${row.atMs} ms has ${row.ampHours} A·h, the one before ${last.ampHours}`;
    }
    if (last !== null && row.atMs < last.atMs) {
      kept.fault ??= `a reading at ${row.atMs} ms follows one at ${last.atMs} ms`;
    }
    kept.count += 1;
    kept.last = row;
  }

  perform({ name, given }: OperationCall): unknown {
    if (!onlyReads.has(name)) this.checkCommit();
    const value = this.#operation(name, given);
    if (!onlyReads.has(name)) this.witness.committed(name, given);
    return value;
  }

  #operation(name: string, given: readonly unknown[]): unknown {
    const { runs, readings, alarms } = this.file;
    switch (name) {
      case 'unsettledRuns':
        return [...runs.values()].filter((run) => !run.offConfirmed || !isFinal(run.lifecycle));
      case 'continuedBy':
        return (
          [...runs.values()].find((run) => run.continues === given[0] && run.startedWallMs !== null)
            ?.id ?? null
        );
      case 'latestProbes':
      case 'channelHistory':
      case 'adoptedEfficiencies':
        return [];
      case 'newestRecordWallMs':
      case 'recordProbe':
      case 'appendSensor':
        return null;
      case 'openDeliveries':
        return this.#openDeliveries();
      case 'markDelivery':
        this.file.messages
          .get(String(given[0]))
          ?.marks.set(String(given[1]), given[2] as DeliveryMark);
        return null;
      case 'interruptedRuns':
        return this.#interrupted();
      case 'run':
        return runs.get(String(given[0])) ?? null;
      case 'lastReading':
        return readings.get(String(given[0]))?.last ?? null;
      case 'standingAlarms':
        return alarms.filter(
          (alarm) => alarm.acknowledgedWallMs === null || alarm.clearedWallMs === null,
        );
      case 'createRun':
        return this.#createRun(given[0] as RunRecord);
      case 'changePlan':
        return this.#changePlan(String(given[0]), given[1] as NewPlanChange);
      case 'patchRun':
        return this.#patchRun(String(given[0]), given[1] as RunPatch);
      case 'appendEvent':
        return this.#event(given[0] as NewEvent, given[1] as Posting | undefined);
      case 'raiseAlarm':
        return this.#alarm(...(given as [NewEvent, NewAlarm, Posting?]));
      case 'acknowledgeAlarm':
        return this.#mark('acknowledgedWallMs', Number(given[0]), Number(given[1]));
      case 'clearAlarm':
        return this.#mark('clearedWallMs', Number(given[0]), given[1] as number | null);
      default:
        throw new Error(`The simulated disk knows no operation "${name}".`);
    }
  }

  #interrupted(): readonly InterruptedRecord[] {
    const { runs } = this.file;
    const carried = new Set(
      [...runs.values()].flatMap((run) =>
        run.continues === null || run.startedWallMs === null ? [] : [run.continues],
      ),
    );
    return [...runs.values()]
      .filter((run) => run.lifecycle === 'interrupted' && run.startedWallMs !== null)
      .filter((run) => !carried.has(run.id))
      .map((run) => ({ run, earlier: run.continues === null ? [] : [run.continues] }));
  }

  #createRun(run: RunRecord): undefined {
    const { runs } = this.file;
    if (runs.has(run.id)) throw new StoreError('invalid', `There is a run ${run.id} already.`);
    if (run.continues !== null && !runs.has(run.continues)) {
      throw new StoreError('invalid', `Run ${run.continues} is not in the log.`);
    }
    runs.set(run.id, { ...run });
  }

  #changePlan(id: string, { plan }: NewPlanChange): undefined {
    const run = this.file.runs.get(id);
    if (run === undefined) throw new StoreError('invalid', `There is no run ${id} in the log.`);
    this.file.runs.set(id, { ...run, plan });
  }

  #patchRun(id: string, patch: RunPatch): undefined {
    const run = this.file.runs.get(id);
    if (run === undefined) throw new StoreError('invalid', `There is no run ${id} in the log.`);
    const { outcome } = patch;
    const before = run.outcome;
    const changed =
      outcome !== undefined &&
      before !== null &&
      (outcome?.end !== before.end ||
        outcome.reason !== before.reason ||
        outcome.faultCode !== before.faultCode);
    if (changed) throw new StoreError('invalid', `Run ${id} is closed already.`);
    this.file.runs.set(id, { ...run, ...patch });
  }

  #event(event: NewEvent, posting?: Posting, alarmId: number | null = null): EventRow {
    if (event.runId !== null && !this.file.runs.has(event.runId)) {
      throw new StoreError('invalid', `There is no run ${event.runId} in the log.`);
    }
    const row = { ...event, id: this.file.events.length + 1 };
    this.file.events.push(row);
    if (posting !== undefined) this.#post(posting, alarmId);
    return row;
  }

  #alarm(event: NewEvent, alarm: NewAlarm, posting?: Posting): { event: EventRow; alarm: Alarm } {
    const id = this.file.alarms.length + 1;
    const stored = this.#event(event, posting, id);
    const row = { ...alarm, id, acknowledgedWallMs: null, clearedWallMs: null };
    this.file.alarms.push(row);
    if (row.code === 'databaseDamaged') this.#damaged = false;
    return { event: stored, alarm: row };
  }

  /** In the transaction of its event; a second try of the same writing adds nothing. */
  #post({ message, channels }: Posting, alarmId: number | null): void {
    const { messages } = this.file;
    if (messages.has(message.id)) return;
    const due: DeliveryMark = {
      state: 'waiting',
      tries: 0,
      failures: 0,
      deliveries: 0,
      dueWallMs: message.createdWallMs,
      triedWallMs: null,
      deliveredWallMs: null,
      lastError: null,
    };
    const marks = new Map(channels.map(({ name }) => [name, due]));
    messages.set(message.id, { message, alarmId, marks });
  }

  #openDeliveries(): readonly OpenDelivery[] {
    return [...this.file.messages.values()].flatMap(({ message, alarmId, marks }) =>
      [...marks]
        .filter(([, { dueWallMs }]) => dueWallMs !== null)
        .map(([channel, mark]) => ({ ...mark, message, alarmId, channel })),
    );
  }

  #mark(
    field: 'acknowledgedWallMs' | 'clearedWallMs',
    id: number,
    wallMs: number | null,
  ): Alarm | null {
    const { alarms, messages } = this.file;
    const alarm = alarms[id - 1];
    if (alarm === undefined) return null;
    const now = { ...alarm, [field]: wallMs };
    alarms[id - 1] = now;
    if (field === 'clearedWallMs') return now;
    for (const { alarmId, marks } of messages.values()) {
      if (alarmId !== id) continue;
      for (const [channel, mark] of marks) {
        if (mark.dueWallMs === null) continue;
        const state = mark.deliveries > 0 ? 'delivered' : 'withdrawn';
        marks.set(channel, { ...mark, state, dueWallMs: null });
      }
    }
    return now;
  }
}

/** How often a batch that the disk refused is tried again, ms. */
const tryAgainMs = 5_000;

class DiskThread extends EventEmitter {
  readonly #disk: Disk;
  readonly #host: Host;
  readonly #owner: Process;
  #busy = false;
  #ended = false;
  readonly #queue: ToThread[] = [];
  readonly #kept: ReadingsBatch[] = [];
  #trying = false;

  constructor(disk: Disk, host: Host, owner: Process) {
    super();
    this.#disk = disk;
    this.#host = host;
    this.#owner = owner;
  }

  postMessage(message: ToThread): void {
    this.#queue.push(message);
    this.#next();
  }

  terminate(): Promise<number> {
    this.#ended = true;
    return Promise.resolve(1);
  }

  #next(): void {
    if (this.#busy) return;
    const message = this.#queue.shift();
    if (message === undefined) return;
    this.#busy = true;
    this.#later(message);
  }

  /** The thread runs beside the loop: a stall of one does not hold the other. */
  #later(message: ToThread): void {
    this.#host.after(this.#disk.latencyMs(), () => {
      if (this.#ended || !this.#owner.alive) return;
      if (this.#disk.fault === 'stall') {
        this.#host.after(50, () => this.#later(message));
        return;
      }
      this.#handle(message);
      this.#busy = false;
      this.#next();
    });
  }

  #handle(message: ToThread): void {
    if (message.kind === 'readings') {
      this.#kept.push(message.batch);
      this.#commitReadings();
      return;
    }
    if (message.kind === 'close') {
      this.#commitReadings();
      const lost = this.#kept.reduce((sum, one) => sum + one.figures.length / batchStride, 0);
      const error = lost === 0 ? null : { kind: 'io' as const, message: 'The disk is gone.' };
      this.#say({ kind: 'closed', lostReadings: lost, error });
      this.#ended = true;
      return;
    }
    try {
      this.#say({ kind: 'answer', id: message.id, value: this.#disk.perform(message) });
    } catch (error) {
      if (!(error instanceof StoreError)) throw error;
      const { kind, message: words } = error;
      this.#say({ kind: 'refusal', id: message.id, error: { kind, message: words } });
    }
  }

  #commitReadings(): void {
    while (this.#kept.length > 0) {
      const batch = this.#kept[0];
      if (batch === undefined) return;
      try {
        const rows = this.#disk.takeReadings(batch);
        this.#kept.shift();
        this.#say({ kind: 'readingsSettled', rows });
      } catch (error) {
        if (!(error instanceof StoreError)) throw error;
        const { kind, message } = error;
        this.#say({ kind: 'readingsFailed', error: { kind, message } });
        this.#tryAgain();
        return;
      }
    }
  }

  #tryAgain(): void {
    if (this.#trying) return;
    this.#trying = true;
    this.#host.after(tryAgainMs, () => {
      this.#trying = false;
      if (!this.#ended && this.#owner.alive) this.#commitReadings();
    });
  }

  #say(message: FromThread): void {
    this.#host.deliver(this.#owner, () => void this.emit('message', message));
  }
}
