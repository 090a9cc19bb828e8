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

interface Value {
  readonly atMs: number;
  readonly value: number;
}

/**
 * At most so many values: of each stretch of time the least and the greatest, in their order, so that
 * no spike is lost; the first and the last value stay.
 */
export function thinned(rows: readonly Value[], points: number): readonly Value[] {
  const [first, last] = [rows[0], rows.at(-1)];
  if (rows.length <= points || first === undefined || last === undefined) return rows;
  const stretches = Math.max(1, Math.floor((points - 2) / 2));
  const each = (rows.length - 2) / stretches;
  const kept: Value[] = [first];
  for (let stretch = 0; stretch < stretches; stretch += 1) {
    const part = rows.slice(1 + Math.round(stretch * each), 1 + Math.round((stretch + 1) * each));
    const [some] = part;
    if (some === undefined) continue;
    const low = part.reduce((a, b) => (b.value < a.value ? b : a), some);
    const high = part.reduce((a, b) => (b.value > a.value ? b : a), some);
    kept.push(...(low === high ? [low] : low.atMs < high.atMs ? [low, high] : [high, low]));
  }
  return [...kept, last];
}

/** One trace a sensor, in the order in which they were first heard; with `points`, at most so many values each. */
export function sensorTraces(
  db: Database.Database,
  runNumber: number,
  points: number | null,
): readonly SensorTrace[] {
  const values = db.prepare<[number], Value>(
    'SELECT at_ms AS atMs, value FROM sensor_values WHERE sensor = ? ORDER BY at_ms',
  );
  return db
    .prepare<[number], Columns>('SELECT * FROM sensors WHERE run_number = ? ORDER BY number')
    .all(runNumber)
    .map(({ number, id, name, kind, unit }) => {
      const all = values.all(number);
      const rows = points === null ? all : thinned(all, points);
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
