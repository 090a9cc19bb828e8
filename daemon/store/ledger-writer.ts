/** Writes ledgers and weigh-ins: every correction is a version of its own, on the database thread. */

import type Database from 'better-sqlite3';
import { weighInProblems } from '../run/weigh-in/problems.ts';
import type { WeighIn } from '../run/weigh-in/model.ts';
import type { LedgerEntry } from '../wire/ledger.ts';
import type {
  AdoptedEntry,
  EntryAnswer,
  EntryChange,
  NewEntry,
  WeighInAnswer,
  WeighInChange,
} from './door.ts';
import { adoptedEfficiencies } from './adopted-rows.ts';
import { newestEntry, newestWeighIn } from './ledger-rows.ts';

/** What the proxy can ask of the thread; the same words as the door, without the waiting. */
export interface LedgerOperations {
  addLedgerEntry(entry: NewEntry): EntryAnswer;
  changeLedgerEntry(change: EntryChange): EntryAnswer;
  saveWeighIn(change: WeighInChange): WeighInAnswer;
  adoptedEfficiencies(): readonly AdoptedEntry[];
}

export class LedgerWriter implements LedgerOperations {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  addLedgerEntry(added: NewEntry): EntryAnswer {
    return this.#inTransaction(() => {
      const { lastInsertRowid } = this.#db
        .prepare('INSERT INTO ledger_entries (tank_id, bath_id) VALUES (@tankId, @bathId)')
        .run({ tankId: added.tankId, bathId: added.bathId });
      return this.#saveEntry(Number(lastInsertRowid), 1, added.entry.kind, added);
    });
  }

  changeLedgerEntry(change: EntryChange): EntryAnswer {
    return this.#inTransaction(() => {
      const newest = newestEntry(this.#db, change.entryId);
      if (newest === null) return { kind: 'unknown' };
      if (newest.version !== change.version) return { kind: 'stale', newest };
      const kind = this.#kindOf(change.entryId);
      if (change.entry !== null && change.entry.kind !== kind) {
        const value = change.entry.kind;
        const message = `entry.kind is "${value}"; a correction must be of the same kind, ${kind}.`;
        return {
          kind: 'invalid',
          problems: [{ field: 'entry.kind', value, bound: kind, message }],
        };
      }
      // Taking back changes nothing about when it was done.
      const atWallMs = change.atWallMs ?? newest.atWallMs;
      return this.#saveEntry(change.entryId, change.version + 1, kind, { ...change, atWallMs });
    });
  }

  saveWeighIn({ runId, version, weighIn, by, savedWallMs }: WeighInChange): WeighInAnswer {
    return this.#inTransaction(() => {
      const run = this.#db
        .prepare<[string], { number: number; tankId: string }>(
          'SELECT number, tank_id AS tankId FROM runs WHERE id = ?',
        )
        .get(runId);
      if (run === undefined) return { kind: 'unknown' };
      const newest = newestWeighIn(this.#db, runId);
      if ((newest?.version ?? 0) !== version) return { kind: 'stale', newest };
      if (newest === null && weighIn === null) return { kind: 'unknown' };
      const problems = weighIn === null ? [] : weighInProblems(weighIn);
      if (problems.length > 0) return { kind: 'invalid', problems };
      this.#db
        .prepare(
          `INSERT INTO weigh_ins (run, version, saved_wall_ms, saved_by, document)
           VALUES (?, ?, ?, ?, ?)`,
        )
        .run(run.number, version + 1, savedWallMs, by, textOf(weighIn));
      this.#db
        .prepare(
          `INSERT INTO events (run_id, tank_id, at_ms, wall_ms, code, message)
           VALUES (?, ?, NULL, ?, 'weighIn', ?)`,
        )
        .run(runId, run.tankId, savedWallMs, sentenceOf(weighIn, by, version > 0));
      const saved = newestWeighIn(this.#db, runId);
      return saved === null ? { kind: 'unknown' } : { kind: 'saved', saved };
    });
  }

  adoptedEfficiencies(): readonly AdoptedEntry[] {
    return adoptedEfficiencies(this.#db);
  }

  #kindOf(entryId: number): string {
    return (
      this.#db
        .prepare<[number], string>(
          'SELECT kind FROM ledger_versions WHERE entry = ? AND version = 1',
        )
        .pluck()
        .get(entryId) ?? ''
    );
  }

  #saveEntry(
    entry: number,
    version: number,
    kind: string,
    {
      atWallMs,
      by,
      savedWallMs,
      entry: document,
    }: Omit<NewEntry, 'entry' | 'tankId' | 'bathId'> & {
      readonly entry: LedgerEntry | null;
    },
  ): EntryAnswer {
    this.#db
      .prepare(
        `INSERT INTO ledger_versions
           (entry, version, saved_wall_ms, saved_by, at_wall_ms, kind, document)
         VALUES (@entry, @version, @savedWallMs, @by, @atWallMs, @kind, @document)`,
      )
      .run({ entry, version, savedWallMs, by, atWallMs, kind, document: textOf(document) });
    const saved = newestEntry(this.#db, entry);
    return saved === null ? { kind: 'unknown' } : { kind: 'saved', saved };
  }

  /** Immediate, because only then SQLite waits for another program's lock. */
  #inTransaction<T>(work: () => T): T {
    return this.#db.transaction(work).immediate();
  }
}

function textOf(document: object | null): string | null {
  return document === null ? null : JSON.stringify(document);
}

function sentenceOf(weighIn: WeighIn | null, by: string, corrects: boolean): string {
  if (weighIn === null) return `The weigh-in was taken back by ${by}; what it was is kept.`;
  const { beforeGrams, afterGrams, callipers } = weighIn;
  const parts = [
    ...(beforeGrams === null ? [] : [`${beforeGrams} g before`]),
    ...(afterGrams === null ? [] : [`${afterGrams} g after`]),
    ...(callipers.length === 0 ? [] : [`${callipers.length} calliper readings`]),
  ];
  return `${corrects ? 'Weigh-in changed' : 'Weighed in'} by ${by}: ${parts.join(', ')}.`;
}
