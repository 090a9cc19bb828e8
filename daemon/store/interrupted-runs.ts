/** Runs that were cut short: which of them still wait for the maker's decision, and the decision itself. */

import type Database from 'better-sqlite3';
import type { RunRecord } from '../wire/run.ts';
import type { EndAnswer, InterruptedRecord } from './door.ts';
import { toRunRecord, type RunColumns } from './rows.ts';

/** The event that ends an interrupted run: what has one waits no more. */
export const endedHereCode = 'endedHere';

/** More than these at once nobody decides; the newest come first. */
const mostWaiting = 50;
/** A chain of runs longer than this is no night's work. */
const mostLinks = 100;

const startedOnes = `SELECT id FROM runs AS next
  WHERE next.continues = runs.id AND next.started_wall_ms IS NOT NULL`;

/**
 * Started runs that were interrupted, that no started run carries on, and that nobody has ended. What
 * cannot be read is left out with a notice.
 */
export function interruptedRuns(
  db: Database.Database,
  onNotice: (sentence: string) => void,
): readonly InterruptedRecord[] {
  const rows = db
    .prepare<[string, number], RunColumns>(
      `SELECT * FROM runs
       WHERE lifecycle = 'interrupted' AND kind = 'run' AND started_wall_ms IS NOT NULL
         AND NOT EXISTS (${startedOnes})
         AND NOT EXISTS (SELECT 1 FROM events WHERE run_id = runs.id AND code = ?)
       ORDER BY armed_wall_ms DESC, number DESC LIMIT ?`,
    )
    .all(endedHereCode, mostWaiting);
  return rows.flatMap((row) => {
    try {
      const run = toRunRecord(row);
      return [{ run, earlier: earlierRuns(db, run) }];
    } catch (error) {
      onNotice(`${error instanceof Error ? error.message : String(error)} It was left as it is.`);
      return [];
    }
  });
}

/** The runs whose charge it carries, the nearest first. */
function earlierRuns(db: Database.Database, run: RunRecord): readonly string[] {
  if (run.continues === null) return [];
  return db
    .prepare<[string, number], string>(
      `WITH RECURSIVE chain (id, continues, link) AS (
         SELECT id, continues, 1 FROM runs WHERE id = ?
         UNION ALL
         SELECT runs.id, runs.continues, link + 1 FROM runs JOIN chain ON runs.id = chain.continues
         WHERE link < ?
       ) SELECT id FROM chain ORDER BY link`,
    )
    .pluck()
    .all(run.continues, mostLinks);
}

/** Ends it here, by writing the event that says so; nothing is written where that is not to be done. */
export function endInterrupted(
  db: Database.Database,
  runId: string,
  message: string,
  wallMs: number,
): EndAnswer {
  const work = (): EndAnswer => {
    const row = db
      .prepare<[string], { lifecycle: string; tankId: string }>(
        'SELECT lifecycle, tank_id AS tankId FROM runs WHERE id = ?',
      )
      .get(runId);
    if (row === undefined) return { kind: 'unknown' };
    if (row.lifecycle !== 'interrupted') return { kind: 'notInterrupted' };
    const byRunId = db
      .prepare<[string], string>(startedOnes.replace('runs.id', '?'))
      .pluck()
      .get(runId);
    if (byRunId !== undefined) return { kind: 'carriedOn', byRunId };
    const earlier = db
      .prepare<[string, string], string>('SELECT message FROM events WHERE run_id = ? AND code = ?')
      .pluck()
      .get(runId, endedHereCode);
    if (earlier !== undefined) return { kind: 'endedAlready', message: earlier };
    const event = {
      runId,
      tankId: row.tankId,
      atMs: null,
      wallMs,
      code: endedHereCode,
      message,
    };
    const { lastInsertRowid } = db
      .prepare(
        `INSERT INTO events (run_id, tank_id, at_ms, wall_ms, code, message)
         VALUES (@runId, @tankId, @atMs, @wallMs, @code, @message)`,
      )
      .run(event);
    return { kind: 'ended', event: { ...event, id: Number(lastInsertRowid) } };
  };
  return db.transaction(work).immediate();
}
