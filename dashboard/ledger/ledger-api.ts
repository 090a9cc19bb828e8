/** Reads and changes ledgers and weigh-ins. */

import type { WeighIn } from '../../daemon/run/weigh-in/model.ts';
import type { LedgerEntry, LedgerLine, LedgerView, SavedEntry } from '../../daemon/wire/ledger.ts';
import type { SavedWeighIn, WeighInView } from '../../daemon/wire/weigh-in.ts';
import type { Symptom } from '../../daemon/chemistry/symptoms.ts';
import { read, readList, send } from '../api.ts';

/** A bath of a tank. */
export interface Place {
  readonly tankId: string;
  readonly bathId: string;
}

const ledgerOf = ({ tankId, bathId }: Place): string =>
  `/api/ledger/${encodeURIComponent(tankId)}/${encodeURIComponent(bathId)}`;
const weighInOf = (runId: string): string => `/api/runs/${encodeURIComponent(runId)}/weigh-in`;

export const readLedgers = (): Promise<LedgerLine[]> => readList('/api/ledger');
export const readLedger = (place: Place): Promise<LedgerView> => read(ledgerOf(place));
export const readSymptoms = (): Promise<Symptom[]> => readList('/api/symptoms');
export const readEntryVersions = (id: number): Promise<SavedEntry[]> =>
  readList(`/api/ledger-entries/${id}/versions`);

/** `atWallMs` is null for now. */
export const addEntry = (
  place: Place,
  entry: LedgerEntry,
  atWallMs: number | null,
): Promise<SavedEntry> => send('POST', `${ledgerOf(place)}/entries`, { atWallMs, entry });

/** Null takes the entry back; `version` is the one that was looked at. */
export const changeEntry = (
  { id, version }: SavedEntry,
  entry: LedgerEntry | null,
  atWallMs: number | null,
): Promise<SavedEntry> => send('PUT', `/api/ledger-entries/${id}`, { version, atWallMs, entry });

export const readWeighIn = (runId: string): Promise<WeighInView> => read(weighInOf(runId));
export const readWeighInVersions = (runId: string): Promise<SavedWeighIn[]> =>
  readList(`${weighInOf(runId)}/versions`);

/** Null takes the weigh-in back; `version` is the one that was looked at, 0 for none. */
export const saveWeighIn = (
  runId: string,
  version: number,
  weighIn: WeighIn | null,
): Promise<WeighInView> => send('PUT', weighInOf(runId), { version, weighIn });
