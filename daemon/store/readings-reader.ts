/** Reads the readings of a run: pages by time, all of them in pages, and the series for charts. */

import type Database from 'better-sqlite3';
import type { ReadingRow, Series } from '../wire/run.ts';
import { keyRange, sequenceOf, keyOf } from './keys.ts';
import { LifecycleNames } from './lifecycle-codes.ts';
import { bucketed, toSeries, type SeriesSpan } from './series.ts';
import {
  coarsestSpan,
  fromColumns,
  summaryColumns,
  summaryOf,
  summarySpans,
  type Summary,
  type SummaryColumns,
} from './summary.ts';

type ReadingColumns = [
  key: number,
  atMs: number,
  wallMs: number,
  volts: number,
  amps: number,
  setAmps: number,
  ampHours: number,
  thicknessMicrometres: number,
  lifecycle: number,
];

export interface ReadingsPage {
  readonly rows: readonly ReadingRow[];
  /** Sequence of the next reading, to go on from. */
  readonly next: number;
}

interface Extent {
  readonly count: number;
  readonly fromMs: number;
  readonly toMs: number;
}

const readingColumns =
  'key, at_ms, wall_ms, volts, amps, set_amps, amp_hours, thickness_micrometres, lifecycle';

export class ReadingsReader {
  readonly #db: Database.Database;
  readonly #names: LifecycleNames;
  readonly #page: Database.Statement<[number, number, number, number], ReadingColumns>;
  readonly #rows: Database.Statement<[number, number], ReadingColumns>;
  readonly #last: Database.Statement<[number, number], ReadingColumns>;
  readonly #firstPosition: Database.Statement<[number, number, number], number>;
  readonly #summaries: Database.Statement<[number, number], SummaryColumns>;
  readonly #extent: Database.Statement<[number, number], Extent>;

  constructor(db: Database.Database) {
    this.#db = db;
    this.#names = new LifecycleNames(db);
    this.#page = db
      .prepare<[number, number, number, number], ReadingColumns>(
        `SELECT ${readingColumns} FROM readings
         WHERE key BETWEEN ? AND ? AND at_ms >= ? ORDER BY key LIMIT ?`,
      )
      .raw();
    this.#rows = db
      .prepare<[number, number], ReadingColumns>(
        `SELECT ${readingColumns} FROM readings WHERE key BETWEEN ? AND ? ORDER BY key`,
      )
      .raw();
    this.#last = db
      .prepare<[number, number], ReadingColumns>(
        `SELECT ${readingColumns} FROM readings WHERE key BETWEEN ? AND ? ORDER BY key DESC LIMIT 1`,
      )
      .raw();
    this.#firstPosition = db
      .prepare<[number, number, number], number>(
        `SELECT position FROM summaries WHERE run = ? AND span = ? AND to_ms >= ?
         ORDER BY position LIMIT 1`,
      )
      .pluck();
    this.#summaries = db
      .prepare<[number, number], SummaryColumns>(
        `SELECT ${summaryColumns} FROM summaries WHERE run = ? AND span = ? ORDER BY position`,
      )
      .raw();
    this.#extent = db.prepare<[number, number], Extent>(
      `SELECT ifnull(sum(count), 0) AS count, ifnull(min(from_ms), 0) AS fromMs,
         ifnull(max(to_ms), 0) AS toMs
       FROM summaries WHERE run = ? AND span = ?`,
    );
  }

  /** Readings at or after `fromMs`, in the order in which they were taken. */
  from(runNumber: number, fromMs: number, limit: number): readonly ReadingRow[] {
    const position = this.#firstPosition.get(runNumber, coarsestSpan, fromMs);
    if (position === undefined) return [];
    const [, last] = keyRange(runNumber);
    const first = keyOf(runNumber, position * coarsestSpan);
    return this.#page.all(first, last, fromMs, limit).map((row) => this.#toRow(row));
  }

  last(runNumber: number): ReadingRow | null {
    const row = this.#last.get(...keyRange(runNumber));
    return row === undefined ? null : this.#toRow(row);
  }

  /** A page from reading number `sequence` on. */
  page(runNumber: number, sequence: number, limit: number): ReadingsPage {
    const [, last] = keyRange(runNumber);
    const found = this.#page.all(keyOf(runNumber, sequence), last, Number.NEGATIVE_INFINITY, limit);
    const lastKey = found.at(-1)?.[0];
    return {
      rows: found.map((row) => this.#toRow(row)),
      next: lastKey === undefined ? sequence : sequenceOf(lastKey) + 1,
    };
  }

  /**
   * At most `buckets` buckets. They are folded from the coarsest summaries that still give half as
   * many, so that a whole night takes about as long as a short run.
   */
  series(runId: string, runNumber: number, buckets: number): Series {
    // One transaction, so that the extent and what is folded are of the same moment.
    return this.#db.transaction(() => {
      const extent = this.#extent.get(runNumber, coarsestSpan) ?? { count: 0, fromMs: 0, toMs: 0 };
      const span = summarySpans.findLast((readings) => extent.count / readings >= buckets / 2) ?? 1;
      const pieces = Math.ceil(extent.count / span);
      const shared: SeriesSpan | null = pieces > buckets ? { ...extent, buckets } : null;
      const stretches = span === 1 ? this.#single(runNumber) : this.#summarised(runNumber, span);
      return toSeries(runId, bucketed(stretches, shared), this.#names);
    })();
  }

  *#summarised(runNumber: number, span: number): Generator<Summary> {
    for (const columns of this.#summaries.all(runNumber, span)) yield fromColumns(columns);
  }

  *#single(runNumber: number): Generator<Summary> {
    for (const row of this.#rows.iterate(...keyRange(runNumber))) {
      const [, atMs, , volts, amps, setAmps, ampHours, thicknessMicrometres, lifecycle] = row;
      yield summaryOf({ atMs, volts, amps, setAmps, ampHours, thicknessMicrometres, lifecycle });
    }
  }

  #toRow(columns: ReadingColumns): ReadingRow {
    const [, atMs, wallMs, volts, amps, setAmps, ampHours, thicknessMicrometres, code] = columns;
    const lifecycle = this.#names.of(code);
    return { atMs, wallMs, volts, amps, setAmps, ampHours, thicknessMicrometres, lifecycle };
  }
}
