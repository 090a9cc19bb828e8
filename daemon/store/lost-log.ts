/** Stands in for a database that could not be opened: refuses to store anything, and knows nothing. */

import type { StoreWriter } from './door.ts';
import { StoreError } from './errors.ts';

/** Every write rejects with `cause`; a listener for failures hears of it at once. */
export function lostLog(cause: StoreError): StoreWriter {
  const refuse = (): Promise<never> => Promise.reject(cause);
  const none = (): Promise<readonly never[]> => Promise.resolve([]);
  const unknown = (): Promise<null> => Promise.resolve(null);
  return {
    library: {
      addPiece: refuse,
      editPiece: refuse,
      copyPiece: refuse,
      archivePiece: refuse,
      addPicturePart: refuse,
    },
    ledger: { add: refuse, change: refuse, saveWeighIn: refuse, adopted: none },
    interrupted: { waiting: none, end: refuse },
    outbox: { post: refuse, mark: refuse, open: none, channels: none, confirm: refuse },
    probes: { record: refuse, latest: none, newestRecordWallMs: unknown },
    sensors: { append: refuse },
    runBook: { addNote: refuse, changePlan: refuse },
    unsettledRuns: none,
    continuedBy: unknown,
    run: unknown,
    lastReading: unknown,
    createRun: refuse,
    patchRun: refuse,
    appendReading: () => undefined,
    appendEvent: refuse,
    raiseAlarm: refuse,
    acknowledgeAlarm: refuse,
    clearAlarm: refuse,
    standingAlarms: none,
    failing: true,
    onFailure: (listener) => queueMicrotask(() => listener(cause.message)),
    close: () => Promise.resolve(),
  };
}

/**
 * Whether the bench can come up without its log: there is something wrong with the disk or its rights. A
 * file that another Nightbath holds, or that is not for this version to touch, keeps the start back.
 */
export function isBearable({ kind }: StoreError): boolean {
  return (
    kind === 'cannotOpen' || kind === 'diskFull' || kind === 'io' || kind === 'migrationFailed'
  );
}
