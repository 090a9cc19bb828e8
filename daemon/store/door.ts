/** The door to the store: what control may write and what web may read. */

export { bathInTank } from './adopted.ts';
export { ledgerLines, ledgerTank, ledgerView } from './ledger-view.ts';
export type { LedgerGround } from './ledger-view.ts';
export { weighInView } from './weigh-in-view.ts';
export { csvLines, eventCsvLines, sensorCsvLines, runDocument } from './exports.ts';
export { StoreError } from './errors.ts';
export { pieceDocument } from './piece-document.ts';
export { backUpDatabase, lookAtDatabase, restoreDatabase } from './backup.ts';
export type { BackupFacts } from './backup.ts';
export { backUpAside } from './backup-aside.ts';
export { findBackups, keptBackups } from './kept-backups.ts';
export type { KeptBackup } from './kept-backups.ts';
export { isBearable, lostLog } from './lost-log.ts';
export { damageIsTold } from './database.ts';
export { openStoreReader } from './reader.ts';
export { openStoreWriter } from './writer.ts';

import type { AlertMessage, Delivery } from '../wire/alerts.ts';
import type { PieceDescription, Problem } from '../piece/model.ts';
import type { ProbeResult } from '../wire/probe.ts';
import type { LedgerEntry, SavedEntry } from '../wire/ledger.ts';
import type { SavedWeighIn } from '../wire/weigh-in.ts';
import type { WeighIn } from '../run/weigh-in/model.ts';
import type { PieceSummary, SavedPiece, StoredPicture } from '../wire/library.ts';
import type { LogPage, RunResult } from '../wire/log.ts';
import type { PlanChange, RunNote } from '../wire/run-book.ts';
import type { SensorRow, SensorTrace } from '../wire/sensors.ts';
import type { Alarm, EventRow, ReadingRow, RunRecord, RunSummary, Series } from '../wire/run.ts';

export type NewEvent = Omit<EventRow, 'id'>;
export type NewAlarm = Omit<Alarm, 'id' | 'acknowledgedWallMs' | 'clearedWallMs'>;
/** What changes on a run after it was armed. */
export type RunPatch = Partial<
  Pick<
    RunRecord,
    | 'startedWallMs'
    | 'clocks'
    | 'endedWallMs'
    | 'lifecycle'
    | 'offConfirmed'
    | 'outcome'
    | 'ampHours'
    | 'lowAmpHours'
    | 'highAmpHours'
    | 'chargeSeen'
    | 'thicknessMicrometres'
  >
>;

/** What became of a change of the library; only the first kind changed anything. */
export type PieceAnswer =
  | { readonly kind: 'saved'; readonly piece: PieceSummary }
  | { readonly kind: 'unknown' }
  | { readonly kind: 'archived' }
  | { readonly kind: 'stale'; readonly newest: PieceSummary }
  | { readonly kind: 'invalid'; readonly problems: readonly Problem[] };

/** An interrupted run that waits for a decision, with the runs whose charge it carries, nearest first. */
export interface InterruptedRecord {
  readonly run: RunRecord;
  readonly earlier: readonly string[];
}

/** What became of ending an interrupted run here; only the first kind wrote anything. */
export type EndAnswer =
  | { readonly kind: 'ended'; readonly event: EventRow }
  | { readonly kind: 'unknown' }
  | { readonly kind: 'notInterrupted' }
  | { readonly kind: 'carriedOn'; readonly byRunId: string }
  /** `message` is that of the event that ended it. */
  | { readonly kind: 'endedAlready'; readonly message: string };

/** A stretch of a picture's bytes, part `index` (from 0) of `count`. */
export interface PicturePart {
  /** Ties the parts of one upload together. */
  readonly upload: string;
  readonly index: number;
  readonly count: number;
  readonly base64: string;
}

export type PictureAnswer =
  | { readonly kind: 'partTaken' }
  | { readonly kind: 'stored'; readonly picture: StoredPicture }
  | { readonly kind: 'invalid'; readonly problems: readonly Problem[] };

/** Pieces and pictures, written. A commit that fails rejects, and trips no run. */
export interface LibraryStore {
  /** A new piece as version 1. */
  addPiece(id: string, piece: PieceDescription, wallMs: number): Promise<PieceAnswer>;
  /** The next version; stale when `version` is not the newest. What is unchanged is not saved anew. */
  editPiece(
    id: string,
    version: number,
    piece: PieceDescription,
    wallMs: number,
  ): Promise<PieceAnswer>;
  /** The newest version as a new piece; without a name it gets the old one with "(copy)". */
  copyPiece(id: string, copyId: string, name: string | null, wallMs: number): Promise<PieceAnswer>;
  /** Archives, or with null brings back. */
  archivePiece(id: string, archivedWallMs: number | null): Promise<PieceAnswer>;
  /** Stores the picture with its last part, by then also removing some that nobody used for a day. */
  addPicturePart(part: PicturePart, wallMs: number): Promise<PictureAnswer>;
}

/** A message with the channels it is for; `print` stands for the address that the channel had then. */
export interface Posting {
  readonly message: AlertMessage;
  readonly channels: readonly { readonly name: string; readonly print: string }[];
}

/** Where one message stands on one channel. */
export interface DeliveryMark {
  readonly state: Delivery['state'];
  /** Tries in all, failures in a row, and tries that the channel took. */
  readonly tries: number;
  readonly failures: number;
  readonly deliveries: number;
  /** Null once nothing more is to be done. */
  readonly dueWallMs: number | null;
  readonly triedWallMs: number | null;
  readonly deliveredWallMs: number | null;
  readonly lastError: string | null;
}

/** One message on one channel that is not settled yet. */
export interface OpenDelivery extends DeliveryMark {
  readonly message: AlertMessage;
  readonly alarmId: number | null;
  readonly channel: string;
}

/** What is known of a channel by its name. */
export interface ChannelHistory {
  readonly channel: string;
  readonly triedWallMs: number | null;
  readonly deliveredWallMs: number | null;
  /** Of the last try; null where that one was taken. */
  readonly lastError: string | null;
  /** The last test that a person saw arrive, and the address it went to. */
  readonly confirmedWallMs: number | null;
  readonly confirmedPrint: string | null;
}

/** Messages that belong to no event, and what becomes of all. A commit that fails trips no run. */
export interface OutboxStore {
  /** A message of its own, such as a test. */
  post(posting: Posting): Promise<void>;
  mark(messageId: string, channel: string, mark: DeliveryMark): Promise<void>;
  /** What the last process left to be delivered, the oldest first. */
  open(): Promise<readonly OpenDelivery[]>;
  channels(): Promise<readonly ChannelHistory[]>;
  /**
   * A person saw the test with this code arrive; of tests sent since `sinceWallMs`, the latest.
   * Answers its channel and the address it went to, or null where there is no such test.
   */
  confirm(
    code: string,
    wallMs: number,
    sinceWallMs: number,
  ): Promise<{ readonly channel: string; readonly print: string } | null>;
}

/** Runs that were cut short. */
export interface InterruptedStore {
  /** Those that nobody has carried on or ended, the newest first, at most fifty. */
  waiting(): Promise<readonly InterruptedRecord[]>;
  /** Ends one here, with an event that says so. */
  end(runId: string, message: string, wallMs: number): Promise<EndAnswer>;
}

/** What probes came to. */
export interface ProbeStore {
  /** Its run must be in the log; a second result of the same run changes nothing. */
  record(result: ProbeResult): Promise<void>;
  /** The latest of each kind on each tank and supply, the oldest first. */
  latest(): Promise<readonly ProbeResult[]>;
  /** The latest wall time of any run on a real supply; null where there is none. */
  newestRecordWallMs(): Promise<number | null>;
}

/** What the sensors of a bath say. A commit that fails rejects, and trips no run. */
export interface SensorStore {
  /** A value of a run; nothing where the run is not in the log. */
  append(runId: string, row: SensorRow): Promise<void>;
}

/** An entry of a ledger as it is handed in. */
export interface NewEntry {
  readonly tankId: string;
  readonly bathId: string;
  /** When it was done or seen. */
  readonly atWallMs: number;
  readonly savedWallMs: number;
  readonly by: string;
  readonly entry: LedgerEntry;
}

/** The efficiency that plans in a bath of a tank go by. */
export interface AdoptedEntry extends LedgerPlace {
  readonly entry: Extract<LedgerEntry, { kind: 'efficiency' }>;
  readonly by: string;
  readonly savedWallMs: number;
}

/** A correction of an entry; null takes it back. */
export interface EntryChange {
  readonly entryId: number;
  /** The version that was looked at. */
  readonly version: number;
  /** Null leaves it as it was. */
  readonly atWallMs: number | null;
  readonly savedWallMs: number;
  readonly by: string;
  readonly entry: LedgerEntry | null;
}

/** What became of it; only the first kind changed anything. */
export type EntryAnswer =
  | { readonly kind: 'saved'; readonly saved: SavedEntry }
  | { readonly kind: 'unknown' }
  | { readonly kind: 'stale'; readonly newest: SavedEntry }
  | { readonly kind: 'invalid'; readonly problems: readonly Problem[] };

/** The weigh-in of a run, or its next version; null takes it back. */
export interface WeighInChange {
  readonly runId: string;
  /** The version that was looked at; 0 for none. */
  readonly version: number;
  readonly savedWallMs: number;
  readonly by: string;
  readonly weighIn: WeighIn | null;
}

export type WeighInAnswer =
  | { readonly kind: 'saved'; readonly saved: SavedWeighIn }
  | { readonly kind: 'unknown' }
  | { readonly kind: 'stale'; readonly newest: SavedWeighIn | null }
  | { readonly kind: 'invalid'; readonly problems: readonly Problem[] };

/** Ledgers of baths and weigh-ins of runs, written. A commit that fails rejects, and trips no run. */
export interface LedgerStore {
  add(entry: NewEntry): Promise<EntryAnswer>;
  change(change: EntryChange): Promise<EntryAnswer>;
  /** With an event of the run, in one transaction. */
  saveWeighIn(change: WeighInChange): Promise<WeighInAnswer>;
  /** Efficiencies that plans go by in place of those of the bath files. */
  adopted(): Promise<readonly AdoptedEntry[]>;
}

/** A note to be written; `picture` is the id of a stored one. */
export type NewNote = Omit<RunNote, 'eventId' | 'picture'> & {
  readonly runId: string;
  readonly picture: string | null;
};

/** What became of a note; only the first kind wrote anything. */
export type NoteAnswer =
  | { readonly kind: 'written'; readonly event: EventRow; readonly note: RunNote }
  | { readonly kind: 'unknown' }
  | { readonly kind: 'invalid'; readonly problems: readonly Problem[] };

/** A change of a run's plan, with the plan that stands from here on. */
export type NewPlanChange = Omit<PlanChange, 'planBefore'> & {
  readonly plan: RunRecord['plan'];
};

/** What a person adds to a run. */
export interface RunBookStore {
  /** A note with its event. A commit that fails rejects, and trips no run. */
  addNote(note: NewNote): Promise<NoteAnswer>;
  /** The run's plan from here on; the one before is kept with the change. */
  changePlan(runId: string, change: NewPlanChange): Promise<void>;
}

/**
 * Control's side: a thread of its own owns the file. Promises resolve once the commit is on disk and
 * reject with a `StoreError`; one of kind `invalid` is about what was handed in, and the file is well.
 */
export interface StoreWriter {
  readonly library: LibraryStore;
  readonly ledger: LedgerStore;
  readonly interrupted: InterruptedStore;
  readonly outbox: OutboxStore;
  readonly probes: ProbeStore;
  readonly sensors: SensorStore;
  readonly runBook: RunBookStore;
  /** Runs that are not closed, or whose output was never read back as off. */
  unsettledRuns(): Promise<readonly RunRecord[]>;
  /** The run that was started to carry this one on; null where there is none. */
  continuedBy(runId: string): Promise<string | null>;
  run(id: string): Promise<RunRecord | null>;
  /** The newest reading of a run; null when it has none. Queued ones are committed first. */
  lastReading(runId: string): Promise<ReadingRow | null>;
  createRun(run: RunRecord): Promise<void>;
  /** Readings queued before are committed first. An outcome, once there, cannot be changed. */
  patchRun(id: string, patch: RunPatch): Promise<void>;
  /**
   * Queued and committed within 500 ms; never waited for by the loop and never throws. What cannot
   * be queued (a figure that is not finite, a full queue) is left out with a notice.
   */
  appendReading(runId: string, row: ReadingRow): void;
  /** What is to be said of it outside is written in the same transaction. */
  appendEvent(event: NewEvent, posting?: Posting): Promise<EventRow>;
  /** An event with its alarm, and what is to be said outside, in one transaction. */
  raiseAlarm(
    event: NewEvent,
    alarm: NewAlarm,
    posting?: Posting,
  ): Promise<{ event: EventRow; alarm: Alarm }>;
  /** What is still to be said of it outside ends with that. */
  acknowledgeAlarm(id: number, wallMs: number): Promise<Alarm | null>;
  /** What it is about has ended; null where it goes on once more. */
  clearAlarm(id: number, wallMs: number | null): Promise<Alarm | null>;
  /** Alarms that are not acknowledged, or that are and whose cause was not seen to end. */
  standingAlarms(): Promise<readonly Alarm[]>;
  /** The last commit failed, or nothing can be committed any more. */
  readonly failing: boolean;
  /**
   * Called when a commit fails or the thread dies; the run machine then trips. Once per spell of
   * failing, so that a listener may itself write without feeding it.
   */
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

/** A search of the log; what is left out is not asked for. */
export interface LogFilter {
  /** Words that the piece's name must hold, in any order, whatever their case and accents; up to 80 letters. */
  readonly piece?: string;
  /** The bath by its whole name. */
  readonly bath?: string;
  readonly tankId?: string;
  readonly result?: RunResult;
  /** Runs that were on, or at least armed, in this stretch of wall time; its end is not part of it. */
  readonly fromWallMs?: number;
  readonly toWallMs?: number;
  /** How many of those found are left out first, 0 to a million. */
  readonly skip: number;
  /** 1 to 100. */
  readonly limit: number;
}

export interface PieceFilter {
  /** True for the archived ones alone, false for all others. */
  readonly archived: boolean;
  readonly limit: number;
  /** Pieces whose newest version was saved before this wall time. */
  readonly beforeWallMs?: number;
}

export interface PictureFile {
  readonly facts: StoredPicture;
  readonly bytes: Uint8Array;
}

/** Pieces and pictures, read. */
export interface LibraryReader {
  /** The newest version of each piece, the latest saved first. */
  pieces(filter: PieceFilter): readonly PieceSummary[];
  /** The newest version unless another is named. */
  piece(id: string, version?: number): SavedPiece | null;
  /** Every version, the newest first; none for an unknown piece. */
  pieceVersions(id: string): readonly PieceSummary[];
  picture(id: string): PictureFile | null;
}

/** The charge of a bath of a tank. */
export interface BathCharge {
  readonly runs: number;
  readonly ampHours: number;
}

/** A bath of a tank that something is on record of. */
export interface LedgerPlace {
  readonly tankId: string;
  readonly bathId: string;
}

/** A run with the newest version of its weigh-in, which was not taken back. */
export interface WeighedRun {
  readonly run: RunRecord;
  readonly saved: SavedWeighIn & { readonly weighIn: WeighIn };
}

/** Ledgers of baths and weigh-ins of runs, read. */
export interface LedgerReader {
  /** The newest version of the weigh-in of a run; null where nobody weighed. */
  weighIn(runId: string): SavedWeighIn | null;
  /** Every version, the newest first. */
  weighInVersions(runId: string): readonly SavedWeighIn[];
  /** Runs in a bath weighed before and after, the newest first; without those that another carries on. */
  weighedInBath(place: LedgerPlace, limit: number): readonly WeighedRun[];
  /** Runs of a piece of the library that callipers measured in places enough, the newest first. */
  weighedOfPiece(pieceId: string, limit: number): readonly WeighedRun[];
  /** Baths with a run or an entry. */
  places(): readonly LedgerPlace[];
  /** Charge that has passed in a bath, from a wall time on or, with null, of all runs. */
  charge(place: LedgerPlace, simulated: boolean, sinceWallMs: number | null): BathCharge;
  /** The newest run in a bath that was started. */
  newestRun(place: LedgerPlace): RunRecord | null;
  /** The newest version of each entry, the latest done first; those taken back included. */
  entries(place: LedgerPlace, limit: number): readonly SavedEntry[];
  /** Every version of an entry, the newest first. */
  entryVersions(entryId: number): readonly SavedEntry[];
  adopted(): readonly AdoptedEntry[];
}

/** Web's side: read only, synchronous, short queries. */
export interface StoreReader {
  readonly library: LibraryReader;
  readonly ledger: LedgerReader;
  runs(filter: RunFilter): readonly RunSummary[];
  /** Found runs, the latest first, with how many there are in all. */
  searchLog(filter: LogFilter): LogPage;
  run(id: string): RunRecord | null;
  /** A page of readings from `fromMs` on, at most `limit`. */
  readings(runId: string, fromMs: number, limit: number): readonly ReadingRow[];
  /** Every reading of a run in order, in pages of a few milliseconds' work each. */
  allReadings(runId: string): Iterable<readonly ReadingRow[]>;
  /** At most `buckets` (1 to 5000) and at least half as many where there are enough readings. */
  series(runId: string, buckets: number): Series | null;
  events(runId: string): readonly EventRow[];
  /** Every alarm of a run, the oldest first. */
  alarmsOf(runId: string): readonly Alarm[];
  /**
   * What the sensors of the bath said during a run; none where there was no sensor. With `points` (4 to
   * 5000) at most so many values each, spikes among them.
   */
  sensors(runId: string, points?: number): readonly SensorTrace[];
  /** Notes of a run in their order. */
  notes(runId: string): readonly RunNote[];
  /** Changes of a run's plan in their order. */
  planChanges(runId: string): readonly PlanChange[];
  recentEvents(limit: number): readonly EventRow[];
  /** The latest first; with `beforeId` only those before that one. */
  alarms(limit: number, beforeId?: number): readonly Alarm[];
  /** Messages by channel with what became of them, the latest first. */
  deliveries(limit: number, beforeId?: number): readonly Delivery[];
  channelHistory(): readonly ChannelHistory[];
  close(): void;
}
