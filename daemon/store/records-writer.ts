/** Writes runs, events and alarms: one short transaction each, on the database thread. */

import type Database from 'better-sqlite3';
import type { Alarm, EventRow, ReadingRow, RunRecord } from '../wire/run.ts';
import type {
  EndAnswer,
  InterruptedRecord,
  NewAlarm,
  NewEvent,
  Posting,
  RunPatch,
} from './door.ts';
import { StoreError } from './errors.ts';
import { endInterrupted, interruptedRuns } from './interrupted-runs.ts';
import { insertPosting, withdrawOfAlarm } from './outbox-writer.ts';
import { keepPicturesOfRun } from './pictures-writer.ts';
import { ReadingsReader } from './readings-reader.ts';
import { alarmColumns, toRunRecord, type RunColumns } from './rows.ts';

/** What the proxy can ask of the thread; the same words as the door, without the waiting. */
export interface RecordOperations {
  unsettledRuns(): readonly RunRecord[];
  continuedBy(runId: string): string | null;
  interruptedRuns(): readonly InterruptedRecord[];
  endInterrupted(runId: string, message: string, wallMs: number): EndAnswer;
  run(id: string): RunRecord | null;
  lastReading(runId: string): ReadingRow | null;
  createRun(run: RunRecord): void;
  patchRun(id: string, patch: RunPatch): void;
  appendEvent(event: NewEvent, posting?: Posting): EventRow;
  raiseAlarm(
    event: NewEvent,
    alarm: NewAlarm,
    posting?: Posting,
  ): { event: EventRow; alarm: Alarm };
  acknowledgeAlarm(id: number, wallMs: number): Alarm | null;
  clearAlarm(id: number, wallMs: number | null): Alarm | null;
  standingAlarms(): readonly Alarm[];
}

const runValues = `
  @id, @kind, @tank_id, @continues, @carried_amp_hours, @simulated, @plan, @checklist, @piece_name,
  @bath_name, @target_micrometres, @armed_wall_ms, @started_wall_ms, @ended_wall_ms, @lifecycle,
  @off_confirmed,
  @outcome_end, @outcome_reason, @outcome_fault_code, @amp_hours, @low_amp_hours,
  @high_amp_hours, @thickness_micrometres, @clocks,
  @charge_seen`;

function toRunColumns(run: RunRecord): RunColumns {
  return {
    id: run.id,
    kind: run.kind,
    tank_id: run.tankId,
    continues: run.continues,
    carried_amp_hours: run.carriedAmpHours,
    simulated: run.simulated ? 1 : 0,
    plan: JSON.stringify(run.plan),
    checklist: JSON.stringify(run.checklist),
    piece_name: run.plan.request.piece.name,
    bath_name: run.plan.bath.name,
    target_micrometres: run.plan.thicknessMicrometres.value,
    armed_wall_ms: run.armedWallMs,
    started_wall_ms: run.startedWallMs,
    ended_wall_ms: run.endedWallMs,
    lifecycle: run.lifecycle,
    off_confirmed: run.offConfirmed ? 1 : 0,
    outcome_end: run.outcome?.end ?? null,
    outcome_reason: run.outcome?.reason ?? null,
    outcome_fault_code: run.outcome?.faultCode ?? null,
    amp_hours: run.ampHours,
    low_amp_hours: run.lowAmpHours,
    high_amp_hours: run.highAmpHours,
    thickness_micrometres: run.thicknessMicrometres,
    clocks: textOrNull(run.clocks),
    charge_seen: textOrNull(run.chargeSeen),
  };
}

const textOrNull = (kept: RunRecord['clocks'] | RunRecord['chargeSeen']): string | null =>
  kept === null ? null : JSON.stringify(kept);

/** Only what the patch holds; the names are ours, the values are bound. */
function toPatchColumns(patch: RunPatch): Record<string, string | number | null> {
  const columns: Record<string, string | number | null> = {};
  if (patch.startedWallMs !== undefined) columns['started_wall_ms'] = patch.startedWallMs;
  if (patch.clocks !== undefined) columns['clocks'] = textOrNull(patch.clocks);
  if (patch.chargeSeen !== undefined) columns['charge_seen'] = textOrNull(patch.chargeSeen);
  if (patch.endedWallMs !== undefined) columns['ended_wall_ms'] = patch.endedWallMs;
  if (patch.lifecycle !== undefined) columns['lifecycle'] = patch.lifecycle;
  if (patch.offConfirmed !== undefined) columns['off_confirmed'] = patch.offConfirmed ? 1 : 0;
  if (patch.outcome !== undefined) {
    columns['outcome_end'] = patch.outcome?.end ?? null;
    columns['outcome_reason'] = patch.outcome?.reason ?? null;
    columns['outcome_fault_code'] = patch.outcome?.faultCode ?? null;
  }
  if (patch.ampHours !== undefined) columns['amp_hours'] = patch.ampHours;
  if (patch.lowAmpHours !== undefined) columns['low_amp_hours'] = patch.lowAmpHours;
  if (patch.highAmpHours !== undefined) columns['high_amp_hours'] = patch.highAmpHours;
  if (patch.thicknessMicrometres !== undefined) {
    columns['thickness_micrometres'] = patch.thicknessMicrometres;
  }
  return columns;
}

export class RecordsWriter implements RecordOperations {
  readonly #db: Database.Database;
  readonly #onNotice: (sentence: string) => void;
  readonly #readings: ReadingsReader;

  /** The file's lifecycle codes must be there already; see `ensureCodes`. */
  constructor(db: Database.Database, onNotice: (sentence: string) => void) {
    this.#db = db;
    this.#onNotice = onNotice;
    this.#readings = new ReadingsReader(db);
  }

  unsettledRuns(): readonly RunRecord[] {
    const rows = this.#db
      .prepare<[], RunColumns>(
        `SELECT * FROM runs
         WHERE off_confirmed = 0
            OR lifecycle NOT IN ('finished', 'stopped', 'tripped', 'interrupted')
         ORDER BY number`,
      )
      .all();
    return rows.flatMap((row) => {
      try {
        return [toRunRecord(row)];
      } catch (error) {
        // One run that cannot be read must not keep the bench from starting.
        this.#onNotice(
          `${error instanceof Error ? error.message : String(error)} It was left as it is.`,
        );
        return [];
      }
    });
  }

  continuedBy(runId: string): string | null {
    const id = this.#db
      .prepare<[string], string>(
        'SELECT id FROM runs WHERE continues = ? AND started_wall_ms IS NOT NULL LIMIT 1',
      )
      .pluck()
      .get(runId);
    return id ?? null;
  }

  interruptedRuns(): readonly InterruptedRecord[] {
    return interruptedRuns(this.#db, this.#onNotice);
  }

  endInterrupted(runId: string, message: string, wallMs: number): EndAnswer {
    return endInterrupted(this.#db, runId, message, wallMs);
  }

  run(id: string): RunRecord | null {
    const row = this.#runRow(id);
    return row === undefined ? null : toRunRecord(row);
  }

  lastReading(runId: string): ReadingRow | null {
    const number = this.#db
      .prepare<[string], number>('SELECT number FROM runs WHERE id = ?')
      .pluck()
      .get(runId);
    return number === undefined ? null : this.#readings.last(number);
  }

  createRun(run: RunRecord): void {
    if (this.#hasRun(run.id)) {
      throw new StoreError('invalid', `There is a run ${run.id} already; the new one was refused.`);
    }
    if (run.continues !== null && !this.#hasRun(run.continues)) {
      throw new StoreError(
        'invalid',
        `Run ${run.id} was refused: it carries on run ${run.continues}, which is not in the log.`,
      );
    }
    const names = runValues.replaceAll('@', '');
    this.#inTransaction(() => {
      const { lastInsertRowid } = this.#db
        .prepare(`INSERT INTO runs (${names}) VALUES (${runValues})`)
        .run(toRunColumns(run));
      keepPicturesOfRun(this.#db, lastInsertRowid, run.plan.request.piece);
    });
  }

  patchRun(id: string, patch: RunPatch): void {
    this.#inTransaction(() => {
      const row = this.#runRow(id);
      if (row === undefined) throw unknownRun(id);
      const { outcome_end: end, outcome_reason: reason, outcome_fault_code: faultCode } = row;
      const columns = toPatchColumns(patch);
      const changesOutcome =
        patch.outcome !== undefined &&
        (columns['outcome_end'] !== end ||
          columns['outcome_reason'] !== reason ||
          columns['outcome_fault_code'] !== faultCode);
      if (end !== null && changesOutcome) {
        throw new StoreError(
          'invalid',
          `Run ${id} is closed (${end}: ${reason}); its outcome cannot be changed.`,
        );
      }
      const names = Object.keys(columns);
      if (names.length === 0) return;
      const settings = names.map((name) => `${name} = @${name}`).join(', ');
      this.#db.prepare(`UPDATE runs SET ${settings} WHERE id = @id`).run({ ...columns, id });
    });
  }

  appendEvent(event: NewEvent, posting?: Posting): EventRow {
    return this.#inTransaction(() => {
      const stored = this.#insertEvent(event);
      if (posting !== undefined) insertPosting(this.#db, posting, stored.id, null);
      return stored;
    });
  }

  raiseAlarm(
    event: NewEvent,
    alarm: NewAlarm,
    posting?: Posting,
  ): { event: EventRow; alarm: Alarm } {
    return this.#inTransaction(() => {
      const stored = this.#insertEvent(event);
      this.#refuseUnknown(alarm.runId);
      const { lastInsertRowid } = this.#db
        .prepare(
          `INSERT INTO alarms
             (event_id, run_id, tank_id, wall_ms, priority, code, found, cause, remedy)
           VALUES
             (@eventId, @runId, @tankId, @wallMs, @priority, @code, @found, @cause, @remedy)`,
        )
        .run({ ...alarm, eventId: stored.id });
      const id = Number(lastInsertRowid);
      if (posting !== undefined) insertPosting(this.#db, posting, stored.id, id);
      return {
        event: stored,
        alarm: { ...alarm, id, acknowledgedWallMs: null, clearedWallMs: null },
      };
    });
  }

  acknowledgeAlarm(id: number, wallMs: number): Alarm | null {
    return this.#inTransaction(() => {
      // The first acknowledgement counts; a second one changes nothing.
      this.#db
        .prepare(
          `UPDATE alarms SET acknowledged_wall_ms = ?
           WHERE id = ? AND acknowledged_wall_ms IS NULL`,
        )
        .run(wallMs, id);
      withdrawOfAlarm(this.#db, id);
      return this.#alarm(id);
    });
  }

  /** What is said of it outside goes on until somebody acknowledges it. */
  clearAlarm(id: number, wallMs: number | null): Alarm | null {
    return this.#inTransaction(() => {
      this.#db.prepare('UPDATE alarms SET cleared_wall_ms = ? WHERE id = ?').run(wallMs, id);
      return this.#alarm(id);
    });
  }

  #alarm(id: number): Alarm | null {
    const alarm = this.#db
      .prepare<[number], Alarm>(`SELECT ${alarmColumns} FROM alarms WHERE id = ?`)
      .get(id);
    return alarm ?? null;
  }

  standingAlarms(): readonly Alarm[] {
    return this.#db
      .prepare<[], Alarm>(
        `SELECT ${alarmColumns} FROM alarms
         WHERE acknowledged_wall_ms IS NULL OR cleared_wall_ms IS NULL ORDER BY id`,
      )
      .all();
  }

  /** Immediate, because only then SQLite waits for another program's lock. */
  #inTransaction<T>(work: () => T): T {
    return this.#db.transaction(work).immediate();
  }

  #insertEvent(event: NewEvent): EventRow {
    this.#refuseUnknown(event.runId);
    const { lastInsertRowid } = this.#db
      .prepare(
        `INSERT INTO events (run_id, tank_id, at_ms, wall_ms, code, message)
         VALUES (@runId, @tankId, @atMs, @wallMs, @code, @message)`,
      )
      .run(event);
    return { ...event, id: Number(lastInsertRowid) };
  }

  #refuseUnknown(runId: string | null): void {
    if (runId !== null && !this.#hasRun(runId)) throw unknownRun(runId);
  }

  #hasRun(id: string): boolean {
    return this.#db.prepare('SELECT 1 FROM runs WHERE id = ?').get(id) !== undefined;
  }

  #runRow(id: string): RunColumns | undefined {
    return this.#db.prepare<[string], RunColumns>('SELECT * FROM runs WHERE id = ?').get(id);
  }
}

function unknownRun(id: string): StoreError {
  return new StoreError('invalid', `There is no run ${id} in the log. Nothing was stored.`);
}
