/** Does what the control thread asks of the database thread, by the name of the operation. */

import type { LedgerOperations } from './ledger-writer.ts';
import type { LibraryOperations } from './library-writer.ts';
import type { OutboxOperations } from './outbox-writer.ts';
import type { ProbeOperations } from './probes-writer.ts';
import type { RunBookOperations } from './run-book-writer.ts';
import type { SensorOperations } from './sensor-writer.ts';
import type { RecordOperations } from './records-writer.ts';
import type { OperationCall } from './thread-messages.ts';

/** One for each group of operations. */
interface Writers {
  readonly records: RecordOperations;
  readonly library: LibraryOperations;
  readonly outbox: OutboxOperations;
  readonly probes: ProbeOperations;
  readonly sensors: SensorOperations;
  readonly ledger: LedgerOperations;
  readonly runBook: RunBookOperations;
}

/** Answers with what the operation returns; null where it returns nothing. */
export function perform(writers: Writers, call: OperationCall): unknown {
  const { records, library, outbox, probes, sensors, ledger, runBook } = writers;
  switch (call.name) {
    case 'continuedBy':
      return records.continuedBy(...call.given);
    case 'unsettledRuns':
      return records.unsettledRuns();
    case 'interruptedRuns':
      return records.interruptedRuns();
    case 'endInterrupted':
      return records.endInterrupted(...call.given);
    case 'run':
      return records.run(...call.given);
    case 'lastReading':
      return records.lastReading(...call.given);
    case 'createRun':
      records.createRun(...call.given);
      return null;
    case 'patchRun':
      records.patchRun(...call.given);
      return null;
    case 'appendEvent':
      return records.appendEvent(...call.given);
    case 'raiseAlarm':
    case 'acknowledgeAlarm':
    case 'clearAlarm':
    case 'standingAlarms':
      return performOnAlarms(records, call);
    case 'postMessage':
    case 'markDelivery':
    case 'openDeliveries':
    case 'channelHistory':
    case 'confirmTest':
      return performOnOutbox(outbox, call);
    case 'recordProbe':
    case 'latestProbes':
    case 'newestRecordWallMs':
      return performOnProbes(probes, call);
    case 'appendSensor':
      sensors.appendSensor(...call.given);
      return null;
    case 'addLedgerEntry':
    case 'changeLedgerEntry':
    case 'saveWeighIn':
    case 'adoptedEfficiencies':
      return performOnLedger(ledger, call);
    case 'addNote':
    case 'changePlan':
      return performOnRunBook(runBook, call);
    case 'addPiece':
    case 'editPiece':
    case 'copyPiece':
    case 'archivePiece':
    case 'addPicturePart':
      return performOnLibrary(library, call);
  }
}

type AlarmName = 'raiseAlarm' | 'acknowledgeAlarm' | 'clearAlarm' | 'standingAlarms';

function performOnAlarms(
  records: RecordOperations,
  call: Extract<OperationCall, { name: AlarmName }>,
): unknown {
  switch (call.name) {
    case 'raiseAlarm':
      return records.raiseAlarm(...call.given);
    case 'acknowledgeAlarm':
      return records.acknowledgeAlarm(...call.given);
    case 'clearAlarm':
      return records.clearAlarm(...call.given);
    case 'standingAlarms':
      return records.standingAlarms();
  }
}

type OutboxCall = Extract<OperationCall, { name: keyof OutboxOperations }>;

function performOnOutbox(outbox: OutboxOperations, call: OutboxCall): unknown {
  switch (call.name) {
    case 'postMessage':
      outbox.postMessage(...call.given);
      return null;
    case 'markDelivery':
      outbox.markDelivery(...call.given);
      return null;
    case 'openDeliveries':
      return outbox.openDeliveries(...call.given);
    case 'channelHistory':
      return outbox.channelHistory(...call.given);
    case 'confirmTest':
      return outbox.confirmTest(...call.given);
  }
}

type ProbeCall = Extract<OperationCall, { name: keyof ProbeOperations }>;

function performOnProbes(probes: ProbeOperations, call: ProbeCall): unknown {
  switch (call.name) {
    case 'recordProbe':
      probes.recordProbe(...call.given);
      return null;
    case 'latestProbes':
      return probes.latestProbes();
    case 'newestRecordWallMs':
      return probes.newestRecordWallMs();
  }
}

type LedgerCall = Extract<OperationCall, { name: keyof LedgerOperations }>;

function performOnLedger(ledger: LedgerOperations, call: LedgerCall): unknown {
  switch (call.name) {
    case 'addLedgerEntry':
      return ledger.addLedgerEntry(...call.given);
    case 'changeLedgerEntry':
      return ledger.changeLedgerEntry(...call.given);
    case 'saveWeighIn':
      return ledger.saveWeighIn(...call.given);
    case 'adoptedEfficiencies':
      return ledger.adoptedEfficiencies();
  }
}

type LibraryCall = Extract<OperationCall, { name: keyof LibraryOperations }>;

function performOnLibrary(library: LibraryOperations, call: LibraryCall): unknown {
  switch (call.name) {
    case 'addPiece':
      return library.addPiece(...call.given);
    case 'editPiece':
      return library.editPiece(...call.given);
    case 'copyPiece':
      return library.copyPiece(...call.given);
    case 'archivePiece':
      return library.archivePiece(...call.given);
    case 'addPicturePart':
      return library.addPicturePart(...call.given);
  }
}

type RunBookCall = Extract<OperationCall, { name: keyof RunBookOperations }>;

function performOnRunBook(runBook: RunBookOperations, call: RunBookCall): unknown {
  switch (call.name) {
    case 'addNote':
      return runBook.addNote(...call.given);
    case 'changePlan':
      runBook.changePlan(...call.given);
      return null;
  }
}
