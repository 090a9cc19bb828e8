/** A run as text to take away: CSV by RFC 4180, and one JSON document; both in pieces, so that they stream. */

import { runDocumentKind, type WeighInResult } from '../wire/run-document.ts';
import type { SensorRow, SensorTrace } from '../wire/sensors.ts';
import type { EventRow, ReadingRow, RunRecord } from '../wire/run.ts';
import type { StoreReader } from './door.ts';
import { StoreError } from './errors.ts';
import { weighInView } from './weigh-in-view.ts';

/** A number stays a number, a text may be quoted, null is an empty cell. */
export type Cell = number | string | null;

interface Column<Row> {
  readonly name: string;
  readonly cell: (row: Row) => Cell;
}

const readingColumns: readonly Column<ReadingRow>[] = [
  { name: 'elapsed_ms', cell: (row) => row.atMs },
  { name: 'wall_ms_since_1970', cell: (row) => row.wallMs },
  { name: 'time_utc', cell: (row) => isoTime(row.wallMs) },
  { name: 'voltage_volts', cell: (row) => row.volts },
  { name: 'current_amps', cell: (row) => row.amps },
  { name: 'set_current_amps', cell: (row) => row.setAmps },
  { name: 'charge_amp_hours', cell: (row) => row.ampHours },
  { name: 'thickness_micrometres', cell: (row) => row.thicknessMicrometres },
  { name: 'state', cell: (row) => row.lifecycle },
];

const eventColumns: readonly Column<EventRow>[] = [
  { name: 'event', cell: (row) => row.id },
  { name: 'elapsed_ms', cell: (row) => row.atMs },
  { name: 'wall_ms_since_1970', cell: (row) => row.wallMs },
  { name: 'time_utc', cell: (row) => isoTime(row.wallMs) },
  { name: 'tank', cell: (row) => row.tankId },
  { name: 'code', cell: (row) => row.code },
  { name: 'message', cell: (row) => row.message },
];

const sensorColumns: readonly Column<SensorRow>[] = [
  { name: 'elapsed_ms', cell: (row) => row.atMs },
  { name: 'sensor', cell: (row) => row.id },
  { name: 'name', cell: (row) => row.name },
  { name: 'value', cell: (row) => row.value },
  { name: 'unit', cell: (row) => row.unit },
];

/** Null where the wall time is beyond what a date can say. */
function isoTime(wallMs: number): string | null {
  const date = new Date(wallMs);
  return Number.isNaN(date.getTime()) ? null : date.toISOString();
}

/**
 * One line of CSV, ended by CRLF. A text that a spreadsheet might take for a formula, or that begins
 * with an apostrophe itself, gets an apostrophe in front; `unguarded` takes it off again.
 */
export function csvLine(cells: readonly Cell[]): string {
  return `${cells.map(csvCell).join(',')}\r\n`;
}

function csvCell(cell: Cell): string {
  if (cell === null) return '';
  // The shortest text that reads back as the same double.
  if (typeof cell === 'number') return String(cell);
  const guarded = /^[=+\-@\t\r']/.test(cell) ? `'${cell}` : cell;
  const quoted = guarded !== cell || /[",\r\n]/.test(cell) || cell.trim() !== cell;
  return quoted ? `"${guarded.replaceAll('"', '""')}"` : cell;
}

/** The text that was given to `csvLine`, from a parsed cell. */
export function unguarded(cell: string): string {
  return cell.startsWith("'") ? cell.slice(1) : cell;
}

function* linesOf<Row>(
  columns: readonly Column<Row>[],
  pages: Iterable<readonly Row[]>,
): Generator<string> {
  yield csvLine(columns.map(({ name }) => name));
  for (const page of pages) {
    for (const row of page) yield csvLine(columns.map(({ cell }) => cell(row)));
  }
}

/**
 * The readings of a run, a line at a time, header first. Throws a `StoreError` of kind `invalid` at
 * once when there is no such run, and while it is read what the reader throws.
 */
export function csvLines(reader: StoreReader, runId: string): Generator<string> {
  runOf(reader, runId);
  return linesOf(readingColumns, reader.allReadings(runId));
}

/** The events of a run in the same manner. */
export function eventCsvLines(reader: StoreReader, runId: string): Generator<string> {
  runOf(reader, runId);
  return linesOf(eventColumns, [reader.events(runId)]);
}

/** What the sensors of the bath said, sensor by sensor, in the same manner. */
export function sensorCsvLines(reader: StoreReader, runId: string): Generator<string> {
  runOf(reader, runId);
  return linesOf(sensorColumns, sensorPages(reader.sensors(runId)));
}

function* sensorPages(traces: readonly SensorTrace[]): Generator<readonly SensorRow[]> {
  for (const { atMs, values, ...about } of traces) {
    yield atMs.map((at, index) => ({ ...about, atMs: at, value: values[index] ?? Number.NaN }));
  }
}

/**
 * Pieces of one JSON object, which joined follow `runDocumentSchema`; from `alarms` to
 * `weighInResult` only where there was any of it. Throws as `csvLines` does.
 */
export function runDocument(reader: StoreReader, runId: string): Generator<string> {
  return documentPieces(reader, runOf(reader, runId));
}

function runOf(reader: StoreReader, runId: string): RunRecord {
  const run = reader.run(runId);
  if (run === null) throw new StoreError('invalid', `There is no run ${runId} in the log.`);
  return run;
}

/** What the newest weigh-in says of efficiency and thickness; null where there is none. */
function weighInResult(reader: StoreReader, run: RunRecord): WeighInResult | null {
  const { saved, figures, why } = weighInView(reader, run);
  return saved?.weighIn == null ? null : { version: saved.version, figures, why };
}

function* documentPieces(reader: StoreReader, run: RunRecord): Generator<string> {
  yield `{"document":${JSON.stringify(runDocumentKind)},\n"run":${JSON.stringify(run)},\n"events":`;
  yield JSON.stringify(reader.events(run.id));
  const alarms = reader.alarmsOf(run.id);
  if (alarms.length > 0) yield `,\n"alarms":${JSON.stringify(alarms)}`;
  const sensors = reader.sensors(run.id);
  if (sensors.length > 0) yield `,\n"sensors":${JSON.stringify(sensors)}`;
  const notes = reader.notes(run.id);
  if (notes.length > 0) yield `,\n"notes":${JSON.stringify(notes)}`;
  const changes = reader.planChanges(run.id);
  if (changes.length > 0) yield `,\n"changes":${JSON.stringify(changes)}`;
  const weighIns = reader.ledger.weighInVersions(run.id);
  if (weighIns.length > 0) yield `,\n"weighIns":${JSON.stringify(weighIns)}`;
  const result = weighInResult(reader, run);
  if (result !== null) yield `,\n"weighInResult":${JSON.stringify(result)}`;
  yield ',\n"readings":[';
  let separator = '\n';
  for (const page of reader.allReadings(run.id)) {
    yield separator + page.map((row) => JSON.stringify(row)).join(',\n');
    separator = ',\n';
  }
  yield '\n]}\n';
}
