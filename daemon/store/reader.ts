/** The read-only side of the store: opens the file when there is one, and again when it is replaced. */

import Database from 'better-sqlite3';
import { statSync } from 'node:fs';
import { resolve } from 'node:path';
import type { Delivery } from '../wire/alerts.ts';
import type { LogPage } from '../wire/log.ts';
import type { PlanChange, RunNote } from '../wire/run-book.ts';
import type { SensorTrace } from '../wire/sensors.ts';
import type { Alarm, EventRow, ReadingRow, RunRecord, RunSummary, Series } from '../wire/run.ts';
import { checkedFinite, checkedWhole } from './checks.ts';
import type { ChannelHistory, LogFilter, RunFilter, StoreReader } from './door.ts';
import { StoreError, toStoreError } from './errors.ts';
import { FileLedger } from './ledger-reader.ts';
import { FileLibrary } from './library-reader.ts';
import { LogSearch } from './log-search.ts';
import { applicationId, latestVersion, versionOf } from './migrations.ts';
import { channelHistory, deliveriesBefore } from './outbox-reader.ts';
import { sensorTraces } from './sensor-reader.ts';
import { planChanges, runNotes } from './run-book-reader.ts';
import { ReadingsReader } from './readings-reader.ts';
import {
  alarmColumns,
  eventColumns,
  summaryColumnsOfRun,
  toRunRecord,
  toRunSummary,
  type RunColumns,
} from './rows.ts';

/** Bounds of what one call may ask for. */
const maxRuns = 1000;
const maxReadings = 20_000;
const maxBuckets = 5000;
const maxEvents = 5000;
/** Rows per page of `allReadings`: a few milliseconds each. */
const pageRows = 1000;

/** Reading hardly ever waits in WAL mode; where it must, it fails soon rather than hold up the page, ms. */
const busyTimeoutMs = 250;

/**
 * A reader of `file`, which need not exist yet: until it does, there are no runs, readings, events
 * or alarms. Throws a `StoreError` of kind `missingBinding` at once; its methods throw one of kind
 * `newer`, `foreign`, `damaged`, `busy`, `cannotOpen`, `io`, `closed`, `unreadable` or `invalid`.
 */
export function openStoreReader(file: string): StoreReader {
  try {
    new Database(':memory:').close();
  } catch (error) {
    throw toStoreError(error, 'Cannot read the database');
  }
  return new FileReader(resolve(file));
}

/** One open connection, and which file on disk it belongs to. */
interface Connection {
  readonly db: Database.Database;
  readonly readings: ReadingsReader;
  readonly search: LogSearch;
  readonly identity: string;
}

class FileReader implements StoreReader {
  readonly library = new FileLibrary((missing, query) =>
    this.#read(missing, ({ db }) => query(db)),
  );
  readonly ledger = new FileLedger((missing, query) => this.#read(missing, ({ db }) => query(db)));
  readonly #file: string;
  #connection: Connection | null = null;
  #closed = false;

  constructor(file: string) {
    this.#file = file;
  }

  runs(filter: RunFilter): readonly RunSummary[] {
    const limit = checkedWhole('limit', filter.limit, 1, maxRuns);
    const before = filter.beforeWallMs;
    if (before !== undefined) checkedFinite('beforeWallMs', before);
    const tankId = filter.tankId ?? null;
    return this.#read([], ({ db }) =>
      db
        .prepare<[object], Omit<RunColumns, 'plan' | 'checklist'>>(
          `SELECT ${summaryColumnsOfRun} FROM runs
           WHERE (@tankId IS NULL OR tank_id = @tankId)
             AND (@before IS NULL OR armed_wall_ms < @before)
           ORDER BY armed_wall_ms DESC, number DESC LIMIT @limit`,
        )
        .all({ tankId, before: before ?? null, limit })
        .map((row) => toRunSummary(row)),
    );
  }

  searchLog(filter: LogFilter): LogPage {
    const nothing: LogPage = { total: 0, skip: filter.skip, runs: [], baths: [] };
    return this.#read(nothing, ({ search }) => search.search(filter));
  }

  run(id: string): RunRecord | null {
    return this.#read(null, ({ db }) => {
      const row = db.prepare<[string], RunColumns>('SELECT * FROM runs WHERE id = ?').get(id);
      return row === undefined ? null : toRunRecord(row);
    });
  }

  readings(runId: string, fromMs: number, limit: number): readonly ReadingRow[] {
    checkedFinite('fromMs', fromMs);
    checkedWhole('limit', limit, 1, maxReadings);
    return this.#ofRun(runId, [], ({ readings }, number) => readings.from(number, fromMs, limit));
  }

  *allReadings(runId: string): Generator<readonly ReadingRow[]> {
    let sequence = 0;
    for (;;) {
      const from = sequence;
      const page = this.#ofRun(runId, null, ({ readings }, number) =>
        readings.page(number, from, pageRows),
      );
      if (page === null || page.rows.length === 0) return;
      sequence = page.next;
      yield page.rows;
    }
  }

  series(runId: string, buckets: number): Series | null {
    checkedWhole('buckets', buckets, 1, maxBuckets);
    return this.#ofRun(runId, null, ({ readings }, number) =>
      readings.series(runId, number, buckets),
    );
  }

  events(runId: string): readonly EventRow[] {
    return this.#read([], ({ db }) =>
      db
        .prepare<[string], EventRow>(
          `SELECT ${eventColumns} FROM events WHERE run_id = ? ORDER BY id`,
        )
        .all(runId),
    );
  }

  alarmsOf(runId: string): readonly Alarm[] {
    return this.#read([], ({ db }) =>
      db
        .prepare<[string], Alarm>(
          `SELECT ${alarmColumns} FROM alarms WHERE run_id = ? ORDER BY id LIMIT ${maxEvents}`,
        )
        .all(runId),
    );
  }

  sensors(runId: string, points?: number): readonly SensorTrace[] {
    if (points !== undefined) checkedWhole('points', points, 4, maxBuckets);
    return this.#ofRun(runId, [], ({ db }, number) => sensorTraces(db, number, points ?? null));
  }

  notes(runId: string): readonly RunNote[] {
    return this.#ofRun(runId, [], ({ db }, number) => runNotes(db, number));
  }

  planChanges(runId: string): readonly PlanChange[] {
    return this.#ofRun(runId, [], ({ db }, number) => planChanges(db, number));
  }

  recentEvents(limit: number): readonly EventRow[] {
    checkedWhole('limit', limit, 1, maxEvents);
    return this.#read([], ({ db }) =>
      db
        .prepare<[number], EventRow>(`SELECT ${eventColumns} FROM events ORDER BY id DESC LIMIT ?`)
        .all(limit),
    );
  }

  alarms(limit: number, beforeId?: number): readonly Alarm[] {
    checkedWhole('limit', limit, 1, maxEvents);
    return this.#read([], ({ db }) =>
      db
        .prepare<[number, number], Alarm>(
          `SELECT ${alarmColumns} FROM alarms WHERE id < ? ORDER BY id DESC LIMIT ?`,
        )
        .all(beforeId ?? Number.MAX_SAFE_INTEGER, limit),
    );
  }

  deliveries(limit: number, beforeId?: number): readonly Delivery[] {
    checkedWhole('limit', limit, 1, maxEvents);
    return this.#read([], ({ db }) => deliveriesBefore(db, limit, beforeId));
  }

  channelHistory(): readonly ChannelHistory[] {
    return this.#read([], ({ db }) => channelHistory(db));
  }

  close(): void {
    this.#closed = true;
    this.#disconnect();
  }

  #ofRun<T>(runId: string, missing: T, query: (connection: Connection, runNumber: number) => T): T {
    return this.#read(missing, (connection) => {
      const number = connection.db
        .prepare<[string], number>('SELECT number FROM runs WHERE id = ?')
        .pluck()
        .get(runId);
      return number === undefined ? missing : query(connection, number);
    });
  }

  /** Runs the query, or answers `missing` while there is no file to read. */
  #read<T>(missing: T, query: (connection: Connection) => T): T {
    if (this.#closed) throw new StoreError('closed', `The reader of ${this.#file} is closed.`);
    try {
      const connection = this.#connect();
      return connection === null ? missing : query(connection);
    } catch (error) {
      const problem = toStoreError(error, `Cannot read the database ${this.#file}`);
      // After a damaged or vanished file the next call looks anew; the writer may have replaced it.
      if (problem.kind !== 'unreadable' && problem.kind !== 'invalid') this.#disconnect();
      throw problem;
    }
  }

  #connect(): Connection | null {
    const stat = statSync(this.#file, { throwIfNoEntry: false });
    const identity = stat === undefined ? null : `${stat.dev}:${stat.ino}`;
    if (this.#connection !== null && this.#connection.identity === identity) {
      return this.#connection;
    }
    this.#disconnect();
    if (identity === null) return null;
    const db = new Database(this.#file, {
      readonly: true,
      fileMustExist: true,
      timeout: busyTimeoutMs,
    });
    try {
      if (this.#isReady(db)) {
        db.pragma('cache_size = -4000');
        const search = new LogSearch(db);
        this.#connection = { db, readings: new ReadingsReader(db), search, identity };
      }
    } finally {
      if (this.#connection === null) db.close();
    }
    return this.#connection;
  }

  /** False while the writer has not yet made or updated the tables. */
  #isReady(db: Database.Database): boolean {
    const version = versionOf(db);
    const id = Number(db.pragma('application_id', { simple: true }));
    if (version > 0 && id !== applicationId) {
      throw new StoreError('foreign', `${this.#file} is the database of another program.`);
    }
    if (version > latestVersion()) {
      throw new StoreError(
        'newer',
        `${this.#file} is of version ${version}; this Nightbath knows versions up to ` +
          `${latestVersion()}. Update Nightbath.`,
      );
    }
    return version === latestVersion();
  }

  #disconnect(): void {
    this.#connection?.db.close();
    this.#connection = null;
  }
}
