/** What passes between the control thread and the thread that owns the database. */

import type { ErrorFields } from './errors.ts';
import type { LedgerOperations } from './ledger-writer.ts';
import type { LibraryOperations } from './library-writer.ts';
import type { ProbeOperations } from './probes-writer.ts';
import type { OutboxOperations } from './outbox-writer.ts';
import type { RunBookOperations } from './run-book-writer.ts';
import type { SensorOperations } from './sensor-writer.ts';
import type { ReadingsBatch } from './readings-batch.ts';
import type { RecordOperations } from './records-writer.ts';

export interface ThreadOptions {
  readonly file: string;
  /** For tests only; see `OpenOptions`. */
  readonly maxPages?: number;
}

type Operations = RecordOperations &
  LibraryOperations &
  OutboxOperations &
  ProbeOperations &
  SensorOperations &
  LedgerOperations &
  RunBookOperations;
export type OperationName = keyof Operations;

interface CallOf<Name extends OperationName> {
  readonly kind: 'call';
  readonly id: number;
  readonly name: Name;
  readonly given: Parameters<Operations[Name]>;
}

/** A call of one operation, with what it is given. */
export type OperationCall = { [Name in OperationName]: CallOf<Name> }[OperationName];

/** Operations that change nothing. */
export const reads: ReadonlySet<OperationName> = new Set([
  'unsettledRuns',
  'continuedBy',
  'interruptedRuns',
  'run',
  'lastReading',
  'standingAlarms',
  'latestProbes',
  'newestRecordWallMs',
  'adoptedEfficiencies',
]);

export type ToThread =
  | OperationCall
  | { readonly kind: 'readings'; readonly batch: ReadingsBatch }
  | { readonly kind: 'close' };

export function isThreadOptions(value: unknown): value is ThreadOptions {
  return (
    typeof value === 'object' && value !== null && 'file' in value && typeof value.file === 'string'
  );
}

export type FromThread =
  | { readonly kind: 'opened' }
  /** The thread ends after this. */
  | { readonly kind: 'notOpened'; readonly error: ErrorFields }
  | { readonly kind: 'answer'; readonly id: number; readonly value: unknown }
  | { readonly kind: 'refusal'; readonly id: number; readonly error: ErrorFields }
  /** So many of the readings handed over are on disk, or were given up and said so. */
  | { readonly kind: 'readingsSettled'; readonly rows: number }
  /** A commit of readings failed; they are kept and tried again. */
  | { readonly kind: 'readingsFailed'; readonly error: ErrorFields }
  | { readonly kind: 'notice'; readonly sentence: string }
  /** Before it is opened: the file was damaged, and is kept under another name. */
  | { readonly kind: 'damaged'; readonly sentence: string }
  /** The file is closed; `lostReadings` could not be written. The thread ends after this. */
  | { readonly kind: 'closed'; readonly lostReadings: number; readonly error: ErrorFields | null };
