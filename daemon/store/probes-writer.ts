/** Writes what probes came to, and tells the latest of each kind; on the database thread. */

import type Database from 'better-sqlite3';
import { probeResultSchema, type ProbeResult } from '../wire/probe.ts';
import { StoreError } from './errors.ts';

export interface ProbeOperations {
  recordProbe(result: ProbeResult): void;
  latestProbes(): readonly ProbeResult[];
  newestRecordWallMs(): number | null;
}

const columns =
  'runs.id AS runId, probes.kind, probes.tank_id AS tankId, supply, verdict, volts, amps, ' +
  'off_ms AS offMs, wall_ms AS wallMs, sentence';

export class ProbesWriter implements ProbeOperations {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  recordProbe(result: ProbeResult): void {
    const write = this.#db.transaction(() => {
      const run = this.#db
        .prepare<[string], number>('SELECT number FROM runs WHERE id = ?')
        .pluck()
        .get(result.runId);
      if (run === undefined) {
        throw new StoreError('invalid', `There is no run ${result.runId} in the log.`);
      }
      // A write that is tried again after its answer was lost changes nothing.
      this.#db
        .prepare(
          `INSERT INTO probes
             (run, kind, tank_id, supply, verdict, volts, amps, off_ms, wall_ms, sentence)
           VALUES
             (@run, @kind, @tankId, @supply, @verdict, @volts, @amps, @offMs, @wallMs, @sentence)
           ON CONFLICT (run) DO NOTHING`,
        )
        .run({ ...result, run });
    });
    write.immediate();
  }

  latestProbes(): readonly ProbeResult[] {
    return this.#db
      .prepare(
        `SELECT ${columns} FROM probes JOIN runs ON runs.number = probes.run
         WHERE probes.number IN (SELECT max(number) FROM probes GROUP BY kind, tank_id, supply)
         ORDER BY probes.number`,
      )
      .all()
      .map((row) => probeResultSchema.parse(row));
  }

  newestRecordWallMs(): number | null {
    // A hurried simulated night ends hours ahead of the clock on the wall. Of the last run and not
    // of all: one night under a clock far ahead would else be held against every later one.
    const newest = this.#db
      .prepare<[], number | null>(
        `SELECT max(armed_wall_ms, coalesce(started_wall_ms, 0), coalesce(ended_wall_ms, 0))
         FROM runs WHERE simulated = 0 ORDER BY number DESC LIMIT 1`,
      )
      .pluck()
      .get();
    return newest ?? null;
  }
}
