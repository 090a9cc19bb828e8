/** Reads ledgers and weigh-ins: entries, versions, weighed runs, and the charge since a moment. */

import type Database from 'better-sqlite3';
import { fewestReadings } from '../run/weigh-in/callipers.ts';
import type { SavedEntry } from '../wire/ledger.ts';
import type { RunRecord } from '../wire/run.ts';
import type { SavedWeighIn } from '../wire/weigh-in.ts';
import { adoptedEfficiencies } from './adopted-rows.ts';
import { checkedFinite, checkedWhole } from './checks.ts';
import type { AdoptedEntry, BathCharge, LedgerPlace, LedgerReader, WeighedRun } from './door.ts';
import { keyRange } from './keys.ts';
import {
  entryColumns,
  isNewestEntry,
  newestWeighIn,
  toSavedEntry,
  toSavedWeighIn,
  weighInColumns,
  type EntryColumns,
  type WeighInColumns,
} from './ledger-rows.ts';
import type { Read } from './read.ts';
import { toRunRecord, type RunColumns } from './rows.ts';

const mostEntries = 2000;

interface ChargeColumns {
  readonly number: number;
  readonly carried: number;
  readonly ampHours: number;
  readonly startedWallMs: number;
  readonly endedWallMs: number | null;
}

export class FileLedger implements LedgerReader {
  readonly #read: Read;

  constructor(read: Read) {
    this.#read = read;
  }

  weighIn(runId: string): SavedWeighIn | null {
    return this.#read(null, (db) => newestWeighIn(db, runId));
  }

  weighInVersions(runId: string): readonly SavedWeighIn[] {
    return this.#read([], (db) =>
      db
        .prepare<[string], WeighInColumns>(
          `SELECT ${weighInColumns} FROM weigh_ins w JOIN runs r ON r.number = w.run
           WHERE r.id = ? ORDER BY w.version DESC`,
        )
        .all(runId)
        .map(toSavedWeighIn),
    );
  }

  weighedInBath({ tankId, bathId }: LedgerPlace, limit: number): readonly WeighedRun[] {
    const fits = `r.tank_id = @tankId AND r.bath_id = @bathId
      AND json_extract(w.document, '$.beforeGrams') IS NOT NULL
      AND json_extract(w.document, '$.afterGrams') IS NOT NULL`;
    return this.#weighed(fits, { tankId, bathId }, limit);
  }

  weighedOfPiece(pieceId: string, limit: number): readonly WeighedRun[] {
    const fits = `json_array_length(w.document, '$.callipers') >= ${fewestReadings}
      AND json_valid(r.plan) AND json_extract(r.plan, '$.request.pieceRef.id') = @pieceId`;
    return this.#weighed(fits, { pieceId }, limit);
  }

  places(): readonly LedgerPlace[] {
    return this.#read([], (db) =>
      db
        .prepare<[], LedgerPlace>(
          `SELECT DISTINCT tank_id AS tankId, bath_id AS bathId FROM runs
             WHERE bath_id IS NOT NULL AND kind = 'run'
           UNION SELECT tank_id, bath_id FROM ledger_entries ORDER BY 1, 2`,
        )
        .all(),
    );
  }

  charge(place: LedgerPlace, simulated: boolean, sinceWallMs: number | null): BathCharge {
    if (sinceWallMs !== null) checkedFinite('sinceWallMs', sinceWallMs);
    return this.#read({ runs: 0, ampHours: 0 }, (db) => {
      const runs = db
        .prepare<[object], ChargeColumns>(
          `SELECT number, carried_amp_hours AS carried, amp_hours AS ampHours,
             started_wall_ms AS startedWallMs, ended_wall_ms AS endedWallMs
           FROM runs
           WHERE tank_id = @tankId AND bath_id = @bathId AND simulated = @simulated
             AND started_wall_ms IS NOT NULL
             AND (@since IS NULL OR ended_wall_ms IS NULL OR ended_wall_ms > @since)`,
        )
        .all({
          tankId: place.tankId,
          bathId: place.bathId,
          simulated: simulated ? 1 : 0,
          since: sinceWallMs,
        });
      const ampHours = runs.reduce((sum, run) => sum + chargeOf(db, run, sinceWallMs), 0);
      return { runs: runs.length, ampHours };
    });
  }

  newestRun({ tankId, bathId }: LedgerPlace): RunRecord | null {
    return this.#read(null, (db) => {
      const row = db
        .prepare<[string, string], RunColumns>(
          `SELECT * FROM runs
           WHERE tank_id = ? AND bath_id = ? AND kind = 'run' AND started_wall_ms IS NOT NULL
           ORDER BY started_wall_ms DESC, number DESC LIMIT 1`,
        )
        .get(tankId, bathId);
      return row === undefined ? null : toRunRecord(row);
    });
  }

  entries({ tankId, bathId }: LedgerPlace, limit: number): readonly SavedEntry[] {
    checkedWhole('limit', limit, 1, mostEntries);
    return this.#read([], (db) =>
      db
        .prepare<[string, string, number], EntryColumns>(
          `SELECT ${entryColumns}
           FROM ledger_entries e JOIN ledger_versions v ON v.entry = e.number AND ${isNewestEntry}
           WHERE e.tank_id = ? AND e.bath_id = ?
           ORDER BY v.at_wall_ms DESC, e.number DESC LIMIT ?`,
        )
        .all(tankId, bathId, limit)
        .map(toSavedEntry),
    );
  }

  entryVersions(entryId: number): readonly SavedEntry[] {
    return this.#read([], (db) =>
      db
        .prepare<[number], EntryColumns>(
          `SELECT ${entryColumns}
           FROM ledger_entries e JOIN ledger_versions v ON v.entry = e.number
           WHERE e.number = ? ORDER BY v.version DESC`,
        )
        .all(entryId)
        .map(toSavedEntry),
    );
  }

  adopted(): readonly AdoptedEntry[] {
    return this.#read([], (db) => adoptedEfficiencies(db));
  }

  /** A run that a started one carries on is left out: its metal was weighed with the later one. */
  #weighed(fits: string, values: object, limit: number): readonly WeighedRun[] {
    checkedWhole('limit', limit, 1, mostEntries);
    return this.#read([], (db) => {
      const rows = db
        .prepare<[object], WeighInColumns & { readonly number: number }>(
          `SELECT ${weighInColumns}, r.number FROM weigh_ins w JOIN runs r ON r.number = w.run
           WHERE ${fits} AND w.document IS NOT NULL
             AND w.version = (SELECT max(version) FROM weigh_ins WHERE run = w.run)
             AND NOT EXISTS (SELECT 1 FROM runs n
               WHERE n.continues = r.id AND n.started_wall_ms IS NOT NULL)
           ORDER BY r.armed_wall_ms DESC, r.number DESC LIMIT @limit`,
        )
        .all({ ...values, limit });
      const runOf = db.prepare<[number], RunColumns>('SELECT * FROM runs WHERE number = ?');
      return rows.flatMap(({ number, ...columns }) => {
        const { weighIn, ...saved } = toSavedWeighIn(columns);
        const run = runOf.get(number);
        return run === undefined || weighIn === null
          ? []
          : [{ run: toRunRecord(run), saved: { ...saved, weighIn } }];
      });
    });
  }
}

/** What one run brought to its bath since a moment, A·h; carried charge was the earlier run's. */
function chargeOf(db: Database.Database, run: ChargeColumns, sinceWallMs: number | null): number {
  const last = run.endedWallMs === null ? newestAmpHours(db, run) : run.ampHours;
  const first =
    sinceWallMs === null || run.startedWallMs >= sinceWallMs
      ? run.carried
      : (ampHoursAt(db, run.number, sinceWallMs) ?? run.carried);
  return Math.max(0, last - first);
}

/** Of a run that is still going on, its row may be behind its readings. */
function newestAmpHours(db: Database.Database, { number, ampHours }: ChargeColumns): number {
  const newest = db
    .prepare<[number, number], number>(
      'SELECT amp_hours FROM readings WHERE key BETWEEN ? AND ? ORDER BY key DESC LIMIT 1',
    )
    .pluck()
    .get(...keyRange(number));
  return Math.max(ampHours, newest ?? 0);
}

/**
 * Charge that a run had counted by a wall time, A·h; null before its first reading. Readings of a run
 * lie in order, so halving their keys finds the place without looking at a night of them.
 */
function ampHoursAt(db: Database.Database, run: number, wallMs: number): number | null {
  const next = db.prepare<[number, number], { key: number; wallMs: number; ampHours: number }>(
    `SELECT key, wall_ms AS wallMs, amp_hours AS ampHours FROM readings
     WHERE key BETWEEN ? AND ? ORDER BY key LIMIT 1`,
  );
  const lastKey = db
    .prepare<[number, number], number>(
      'SELECT key FROM readings WHERE key BETWEEN ? AND ? ORDER BY key DESC LIMIT 1',
    )
    .pluck()
    .get(...keyRange(run));
  let [low] = keyRange(run);
  let high = lastKey ?? low - 1;
  let found: number | null = null;
  while (low <= high) {
    const middle = low + Math.floor((high - low) / 2);
    const row = next.get(middle, high);
    if (row === undefined || row.wallMs > wallMs) {
      high = middle - 1;
    } else {
      found = row.ampHours;
      low = row.key + 1;
    }
  }
  return found;
}
