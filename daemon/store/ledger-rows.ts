/** Rows of the ledger and of weigh-ins as the documents of the wire, checked on the way out. */

import type Database from 'better-sqlite3';
import type * as z from 'zod/mini';
import { savedEntrySchema, type SavedEntry } from '../wire/ledger.ts';
import { savedWeighInSchema, type SavedWeighIn } from '../wire/weigh-in.ts';
import { describeIssues } from './checks.ts';
import { StoreError } from './errors.ts';

export interface EntryColumns {
  readonly id: number;
  readonly tankId: string;
  readonly bathId: string;
  readonly version: number;
  readonly savedWallMs: number;
  readonly by: string;
  readonly atWallMs: number;
  readonly document: string | null;
}

/** Of a version `v` of an entry `e`. */
export const entryColumns =
  'e.number AS id, e.tank_id AS tankId, e.bath_id AS bathId, v.version, ' +
  'v.saved_wall_ms AS savedWallMs, v.saved_by AS "by", v.at_wall_ms AS atWallMs, v.document';

/** True for the newest version of each entry. */
export const isNewestEntry =
  'v.version = (SELECT max(version) FROM ledger_versions WHERE entry = e.number)';

/** Throws a `StoreError` of kind `unreadable` when what is stored is none of this program. */
export function toSavedEntry({ document, ...row }: EntryColumns): SavedEntry {
  const what = `entry ${row.id} of the ledger`;
  return checkedRow(savedEntrySchema, { ...row, entry: parsed(what, document) }, what);
}

export interface WeighInColumns {
  readonly runId: string;
  readonly version: number;
  readonly savedWallMs: number;
  readonly by: string;
  readonly document: string | null;
}

/** Of a weigh-in `w` of a run `r`. */
export const weighInColumns =
  'r.id AS runId, w.version, w.saved_wall_ms AS savedWallMs, w.saved_by AS "by", w.document';

/** Throws like `toSavedEntry`. */
export function toSavedWeighIn({ document, ...row }: WeighInColumns): SavedWeighIn {
  const what = `weigh-in of run ${row.runId}`;
  return checkedRow(savedWeighInSchema, { ...row, weighIn: parsed(what, document) }, what);
}

/** The newest version of an entry; null for an unknown one. */
export function newestEntry(db: Database.Database, id: number): SavedEntry | null {
  const row = db
    .prepare<[number], EntryColumns>(
      `SELECT ${entryColumns} FROM ledger_entries e JOIN ledger_versions v ON v.entry = e.number
       WHERE e.number = ? ORDER BY v.version DESC LIMIT 1`,
    )
    .get(id);
  return row === undefined ? null : toSavedEntry(row);
}

/** The newest version of the weigh-in of a run; null where nobody weighed. */
export function newestWeighIn(db: Database.Database, runId: string): SavedWeighIn | null {
  const row = db
    .prepare<[string], WeighInColumns>(
      `SELECT ${weighInColumns} FROM weigh_ins w JOIN runs r ON r.number = w.run
       WHERE r.id = ? ORDER BY w.version DESC LIMIT 1`,
    )
    .get(runId);
  return row === undefined ? null : toSavedWeighIn(row);
}

function parsed(what: string, document: string | null): unknown {
  if (document === null) return null;
  try {
    return JSON.parse(document);
  } catch (error) {
    throw unreadable(what, String(error));
  }
}

function checkedRow<T>(schema: z.ZodMiniType<T>, row: unknown, what: string): T {
  const result = schema.safeParse(row);
  if (result.success) return result.data;
  throw unreadable(what, describeIssues(result.error.issues));
}

function unreadable(what: string, why: string): StoreError {
  return new StoreError('unreadable', `The stored ${what} cannot be read: ${why}.`);
}
