/** Writes what the sensors of a bath said during a run, on the database thread. */

import type Database from 'better-sqlite3';
import type { SensorRow } from '../wire/sensors.ts';

export interface SensorOperations {
  appendSensor(runId: string, row: SensorRow): void;
}

export class SensorWriter implements SensorOperations {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  /** Does nothing where there is no such run. */
  appendSensor(runId: string, { id, name, kind, unit, atMs, value }: SensorRow): void {
    this.#db.transaction(() => {
      const runNumber = this.#db
        .prepare<[string], number>('SELECT number FROM runs WHERE id = ?')
        .pluck()
        .get(runId);
      if (runNumber === undefined) return;
      const sensor = this.#db
        .prepare<[number, string, string, string, string], number>(
          `INSERT INTO sensors (run_number, id, name, kind, unit) VALUES (?, ?, ?, ?, ?)
           ON CONFLICT (run_number, id) DO UPDATE SET name = excluded.name
           RETURNING number`,
        )
        .pluck()
        .get(runNumber, id, name, kind, unit);
      this.#db
        .prepare('INSERT INTO sensor_values (sensor, at_ms, value) VALUES (?, ?, ?)')
        .run(sensor, atMs, value);
    })();
  }
}
