/** Efficiencies that plans go by in place of those of the bath files, read on either side of the store. */

import type Database from 'better-sqlite3';
import { ledgerEntrySchema } from '../wire/ledger.ts';
import type { AdoptedEntry } from './door.ts';

interface AdoptedColumns {
  readonly tankId: string;
  readonly bathId: string;
  readonly document: string;
  readonly by: string;
  readonly savedWallMs: number;
}

/** The newest efficiency of each bath that was not taken back. */
export function adoptedEfficiencies(db: Database.Database): readonly AdoptedEntry[] {
  const rows = db
    .prepare<[], AdoptedColumns>(
      `SELECT e.tank_id AS tankId, e.bath_id AS bathId, v.document, v.saved_by AS "by",
         v.saved_wall_ms AS savedWallMs
       FROM ledger_entries e JOIN ledger_versions v ON v.entry = e.number
       WHERE v.kind = 'efficiency' AND v.document IS NOT NULL
         AND v.version = (SELECT max(version) FROM ledger_versions WHERE entry = e.number)
       ORDER BY e.number`,
    )
    .all();
  const newest = new Map<string, AdoptedEntry>();
  for (const { document, ...row } of rows) {
    const entry = efficiencyOf(document);
    if (entry !== null) newest.set(`${row.tankId} ${row.bathId}`, { ...row, entry });
  }
  return [...newest.values()];
}

function efficiencyOf(document: string): AdoptedEntry['entry'] | null {
  const result = ledgerEntrySchema.safeParse(JSON.parse(document));
  return result.success && result.data.kind === 'efficiency' ? result.data : null;
}
