/** Reads what the sensors of a bath said during a run. */

import type Database from 'better-sqlite3';
import { sensorTraceSchema, type SensorTrace } from '../wire/sensors.ts';

interface Columns {
  readonly number: number;
  readonly id: string;
  readonly name: string;
  readonly kind: string;
  readonly unit: string;
}

/** One trace a sensor, in the order in which they were first heard. */
export function sensorTraces(db: Database.Database, runNumber: number): readonly SensorTrace[] {
  const values = db.prepare<[number], { atMs: number; value: number }>(
    'SELECT at_ms AS atMs, value FROM sensor_values WHERE sensor = ? ORDER BY at_ms',
  );
  return db
    .prepare<[number], Columns>('SELECT * FROM sensors WHERE run_number = ? ORDER BY number')
    .all(runNumber)
    .map(({ number, id, name, kind, unit }) => {
      const rows = values.all(number);
      return sensorTraceSchema.parse({
        id,
        name,
        kind,
        unit,
        atMs: rows.map(({ atMs }) => atMs),
        values: rows.map(({ value }) => value),
      });
    });
}
