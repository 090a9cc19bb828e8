/** Writes packed readings and keeps the summaries beside them true, in the same transaction. */

import type Database from 'better-sqlite3';
import { keyOf, keyRange, sequenceOf } from './keys.ts';
import { ensureCodes } from './lifecycle-codes.ts';
import { batchStride, type ReadingsBatch } from './readings-batch.ts';
import {
  fold,
  fromColumns,
  summaryColumns,
  summaryOf,
  summarySpans,
  toColumns,
  type Summary,
  type SummaryColumns,
} from './summary.ts';

/** Where a run's readings have got to. `open` has one summary per span, null where it would be empty. */
interface Tail {
  readonly runNumber: number;
  next: number;
  readonly open: (Summary | null)[];
}

export interface Appended {
  readonly rows: number;
  /** Runs that are not in the file; their readings were left out. */
  readonly unknownRunIds: readonly string[];
}

export class ReadingsWriter {
  readonly #codes: readonly number[];
  /** As committed; a batch works on copies until it is. */
  readonly #tails = new Map<string, Tail>();
  readonly #append: (batches: readonly ReadingsBatch[]) => Map<string, Tail | null>;
  readonly #insert: Database.Statement;
  readonly #keep: Database.Statement;
  readonly #runNumber: Database.Statement<[string], number>;
  readonly #lastKey: Database.Statement<[number, number], number | null>;
  readonly #summary: Database.Statement<[number, number, number], SummaryColumns>;

  constructor(db: Database.Database) {
    this.#codes = ensureCodes(db);
    this.#insert = db.prepare('INSERT INTO readings VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)');
    this.#keep = db.prepare(
      `INSERT OR REPLACE INTO summaries (run, span, position, ${summaryColumns})
       VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    );
    this.#runNumber = db.prepare<[string], number>('SELECT number FROM runs WHERE id = ?').pluck();
    this.#lastKey = db
      .prepare<[number, number], number | null>(
        'SELECT max(key) FROM readings WHERE key BETWEEN ? AND ?',
      )
      .pluck();
    this.#summary = db
      .prepare<[number, number, number], SummaryColumns>(
        `SELECT ${summaryColumns} FROM summaries WHERE run = ? AND span = ? AND position = ?`,
      )
      .raw();
    const append = db.transaction((batches: readonly ReadingsBatch[]) => this.#write(batches));
    // Immediate, because only then SQLite waits for another program's lock.
    this.#append = (batches) => append.immediate(batches);
  }

  /** Commits the batches in order, all or none. Throws SQLite's error when the commit fails. */
  append(batches: readonly ReadingsBatch[]): Appended {
    const tails = this.#append(batches);
    const unknownRunIds: string[] = [];
    for (const [runId, tail] of tails) {
      if (tail === null) unknownRunIds.push(runId);
      else this.#tails.set(runId, tail);
    }
    const figures = batches.reduce((total, batch) => total + batch.figures.length, 0);
    return { rows: figures / batchStride, unknownRunIds };
  }

  #write(batches: readonly ReadingsBatch[]): Map<string, Tail | null> {
    const tails = new Map<string, Tail | null>();
    for (const { runIds, figures } of batches) {
      for (const id of runIds) if (!tails.has(id)) tails.set(id, this.#copyOfTail(id));
      const byPlace = runIds.map((id) => tails.get(id) ?? null);
      for (let at = 0; at < figures.length; at += batchStride) {
        const tail = byPlace[figures[at] ?? 0] ?? null;
        if (tail !== null) this.#writeOne(tail, figures, at);
      }
    }
    for (const tail of tails.values()) if (tail !== null) this.#keepOpen(tail);
    return tails;
  }

  #writeOne(tail: Tail, figures: Float64Array, at: number): void {
    const [, atMs = 0, wallMs, volts = 0, amps = 0, setAmps = 0, ampHours = 0, thickness = 0] =
      figures.subarray(at, at + batchStride);
    const lifecycle = this.#codes[figures[at + batchStride - 1] ?? 0] ?? -1;
    this.#insert.run(
      keyOf(tail.runNumber, tail.next),
      atMs,
      wallMs,
      volts,
      amps,
      setAmps,
      ampHours,
      thickness,
      lifecycle,
    );
    const own = {
      atMs,
      volts,
      amps,
      setAmps,
      ampHours,
      thicknessMicrometres: thickness,
      lifecycle,
    };
    const one = summaryOf(own);
    tail.next += 1;
    summarySpans.forEach((span, index) => {
      const open = tail.open[index] ?? null;
      if (open === null) tail.open[index] = { ...one };
      else fold(open, one);
      if (tail.next % span === 0) {
        this.#keepSummary(tail, index);
        tail.open[index] = null;
      }
    });
  }

  /** The unfinished summaries too, so that they always cover every stored reading. */
  #keepOpen(tail: Tail): void {
    tail.open.forEach((summary, index) => {
      if (summary !== null) this.#keepSummary(tail, index);
    });
  }

  #keepSummary(tail: Tail, index: number): void {
    const span = summarySpans[index];
    const summary = tail.open[index] ?? null;
    if (span === undefined || summary === null) return;
    const position = Math.floor((tail.next - 1) / span);
    this.#keep.run(tail.runNumber, span, position, ...toColumns(summary));
  }

  #copyOfTail(runId: string): Tail | null {
    const known = this.#tails.get(runId) ?? this.#storedTail(runId);
    if (known === null) return null;
    return { ...known, open: known.open.map((summary) => (summary ? { ...summary } : null)) };
  }

  #storedTail(runId: string): Tail | null {
    const runNumber = this.#runNumber.get(runId);
    if (runNumber === undefined) return null;
    const last = this.#lastKey.get(...keyRange(runNumber)) ?? null;
    const next = last === null ? 0 : sequenceOf(last) + 1;
    const open = summarySpans.map((span) => {
      if (next % span === 0) return null;
      const columns = this.#summary.get(runNumber, span, Math.floor(next / span));
      return columns === undefined ? null : fromColumns(columns);
    });
    return { runNumber, next, open };
  }
}
