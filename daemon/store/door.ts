/** The door to the store: what control may write and what web may read. */

import type { Alarm, EventRow, ReadingRow, RunRecord, RunSummary, Series } from '../wire/run.ts';

export type NewEvent = Omit<EventRow, 'id'>;
export type NewAlarm = Omit<Alarm, 'id' | 'acknowledgedWallMs'>;
/** What changes on a run after it was armed. */
export type RunPatch = Partial<
  Pick<
    RunRecord,
    | 'startedWallMs'
    | 'endedWallMs'
    | 'lifecycle'
    | 'outcome'
    | 'ampHours'
    | 'lowAmpHours'
    | 'highAmpHours'
    | 'thicknessMicrometres'
  >
>;

/** Control's side: a thread of its own owns the file. Promises resolve once the commit is on disk. */
export interface StoreWriter {
  /** Runs that were neither finished nor closed when the last process ended. */
  unfinishedRuns(): Promise<readonly RunRecord[]>;
  run(id: string): Promise<RunRecord | null>;
  createRun(run: RunRecord): Promise<void>;
  patchRun(id: string, patch: RunPatch): Promise<void>;
  /** Queued and committed within 500 ms; never waited for by the loop. */
  appendReading(runId: string, row: ReadingRow): void;
  /** An event with its alarm, when there is one, in one transaction. */
  appendEvent(event: NewEvent): Promise<EventRow>;
  raiseAlarm(event: NewEvent, alarm: NewAlarm): Promise<{ event: EventRow; alarm: Alarm }>;
  acknowledgeAlarm(id: number, wallMs: number): Promise<Alarm | null>;
  standingAlarms(): Promise<readonly Alarm[]>;
  /** Called when a commit fails or the thread dies; the run machine then trips. */
  onFailure(listener: (reason: string) => void): void;
  /** Commits what is queued, closes the file. */
  close(): Promise<void>;
}

export interface RunFilter {
  readonly tankId?: string;
  readonly limit: number;
  /** Runs armed before this wall time. */
  readonly beforeWallMs?: number;
}

/** Web's side: read only, synchronous, short queries. */
export interface StoreReader {
  runs(filter: RunFilter): readonly RunSummary[];
  run(id: string): RunRecord | null;
  /** A page of readings from `fromMs` on, at most `limit`. */
  readings(runId: string, fromMs: number, limit: number): readonly ReadingRow[];
  series(runId: string, buckets: number): Series | null;
  events(runId: string): readonly EventRow[];
  recentEvents(limit: number): readonly EventRow[];
  alarms(limit: number): readonly Alarm[];
  close(): void;
}
