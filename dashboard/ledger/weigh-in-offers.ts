/** What weigh-ins offer: the bath's efficiency and the piece's area factor, each taken by one press and undone by another. */

import type { PieceDescription } from '../../daemon/piece/model.ts';
import type { RunRecord } from '../../daemon/wire/run.ts';
import type { WeighInView } from '../../daemon/wire/weigh-in.ts';
import { read } from '../api.ts';
import { addPiece, archivePiece, openPiece, savePiece } from '../piece/library-calls.ts';
import { percentWith } from './figures.ts';
import { addEntry, changeEntry, type Place } from './ledger-api.ts';
import { ledgerWords, weighInWords as say } from '#words/ledger';

type Running = NonNullable<WeighInView['runningEfficiency']>;

/** What was done, and how it is undone; null for what needs no undoing. */
export interface Taken {
  readonly told: string;
  readonly undo: (() => Promise<string>) | null;
}

const fourDigits = (value: number): number => Number(value.toPrecision(4));

/** A median that can be planned with: no more than all of the charge becomes metal. */
export function offeredEfficiency({ value, halfWidth }: Running): {
  readonly value: number;
  readonly uncertainty: number;
} {
  return {
    value: Math.min(1, fourDigits(value)),
    uncertainty: Math.min(0.5, Math.max(0.001, fourDigits(halfWidth))),
  };
}

/** Outside these the median itself says that something is wrong with a weighing or the meter. */
const mostOffered = 1.02;
const leastOfFile = 0.75;

/** Whether a median is near enough to what the bath's file says to be planned with. */
export const isOffered = ({ value }: Running, file: number): boolean =>
  value <= mostOffered && value >= leastOfFile * file;

/** The entry that takes the median over, and the sentence on it. */
export function efficiencyEntry(running: Running) {
  const { value, uncertainty } = offeredEfficiency(running);
  const told = ledgerWords.efficiency.taken(percentWith(value, uncertainty));
  const kind = 'efficiency' as const;
  return { entry: { kind, value, uncertainty, weighIns: running.count, note: '' }, told };
}

export async function takeEfficiency(
  place: Place,
  running: Running,
  before: { readonly value: number; readonly uncertainty: number },
): Promise<Taken> {
  const { entry, told } = efficiencyEntry(running);
  const saved = await addEntry({ tankId: place.tankId, bathId: place.bathId }, entry, null);
  return {
    told,
    undo: async () => {
      await changeEntry(saved, null, null);
      return ledgerWords.efficiency.wentBack(percentWith(before.value, before.uncertainty));
    },
  };
}

function withFactor(piece: PieceDescription, { value, halfWidth }: Running): PieceDescription {
  return {
    ...piece,
    areaFactor: fourDigits(value),
    areaUncertainty: Math.min(0.9, fourDigits(halfWidth / value)),
  };
}

const partsOf = ({ parts }: PieceDescription): string => JSON.stringify(parts);

/** Into the library: as the next version of the piece that was run, or as a piece of its own. */
export async function takeAreaFactor(
  { runId, pieceRef }: WeighInView,
  running: Running,
): Promise<Taken> {
  const { plan } = await read<RunRecord>(`/api/runs/${encodeURIComponent(runId)}`);
  const { piece } = plan.request;
  if (pieceRef === null) {
    const added = await addPiece(withFactor(piece, running));
    return { told: say.pieceAdded, undo: () => archivePiece(added.id).then(() => say.pieceUndone) };
  }
  const { id } = pieceRef;
  const newest = await openPiece(id);
  if (partsOf(newest.piece) !== partsOf(piece)) return { told: say.pieceOther, undo: null };
  const { version } = await savePiece(id, newest.version, withFactor(newest.piece, running));
  return {
    told: say.pieceTaken(version),
    undo: () => savePiece(id, version, newest.piece).then(() => say.pieceUndone),
  };
}
