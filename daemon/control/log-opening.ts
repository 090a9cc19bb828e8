/** Opens the log; where that cannot be, the bench comes up without one, to switch off and to say so. */

import { isBearable, lostLog, openStoreWriter, StoreError } from '../store/door.ts';
import type { StoreWriter } from '../store/door.ts';

/** Why it is not known from the log what the last process left on. */
export interface LogTrouble {
  readonly kind: 'lost' | 'damaged';
  /** For a person: what is wrong with which file. */
  readonly found: string;
}

export interface OpenedLog {
  readonly store: StoreWriter;
  /** Null where the log is whole. */
  readonly trouble: LogTrouble | null;
}

/** Rejects with a `StoreError` where Nightbath must not run beside this file. */
export async function openLog(
  file: string,
  onNotice: (sentence: string) => void,
): Promise<OpenedLog> {
  let trouble: LogTrouble | null = null;
  const onDamage = (found: string): void => {
    trouble = { kind: 'damaged', found };
    onNotice(found);
  };
  try {
    return { store: await openStoreWriter({ file, onNotice, onDamage }), trouble };
  } catch (error) {
    if (!(error instanceof StoreError) || !isBearable(error)) throw error;
    const found =
      (trouble === null ? '' : `${(trouble as LogTrouble).found} `) +
      `${error.message} Nothing can be stored and no run can be started until this is put right and ` +
      'Nightbath is started again; "nightbath verify" says what is wrong.';
    onNotice(found);
    return { store: lostLog(new StoreError(error.kind, found)), trouble: { kind: 'lost', found } };
  }
}
