/** The weigh-in of a run with what follows from it, and what it offers to bath and piece. */

import type { PieceDescription } from '../piece/model.ts';
import type { CountedCharge } from '../run/weigh-in/model.ts';
import { weighInFigures } from '../run/weigh-in/figures.ts';
import {
  newestSamples,
  runningFigure,
  type RunningFigure,
  type Sample,
} from '../run/weigh-in/running.ts';
import type { RunRecord } from '../wire/run.ts';
import type { WeighInView } from '../wire/weigh-in.ts';
import type { LedgerPlace, StoreReader, WeighedRun } from './door.ts';

/** A weigh-in by mass, as the running efficiency counts it. */
export interface EfficiencySample {
  readonly runId: string;
  readonly pieceName: string;
  readonly savedWallMs: number;
  readonly efficiency: Sample;
}

/** Weigh-ins looked at for a median; one or the other may have no figure after all. */
const looked = newestSamples + 4;

function countedBy({ ampHours, lowAmpHours, highAmpHours }: RunRecord): CountedCharge {
  return {
    ampHours,
    lowAmpHours: Math.min(lowAmpHours, ampHours),
    highAmpHours: Math.max(highAmpHours, ampHours),
  };
}

/** Null while the run goes on: what it has grown then is not what was weighed. */
function figuresOf({ run, saved }: WeighedRun) {
  return run.ampHours > 0 && run.endedWallMs !== null
    ? weighInFigures(run.plan, countedBy(run), saved.weighIn)
    : null;
}

/** The newest first. Weigh-ins by callipers alone teach nothing about a bath. */
export function efficiencySamples(
  { ledger }: Pick<StoreReader, 'ledger'>,
  place: LedgerPlace,
  simulated: boolean,
): readonly EfficiencySample[] {
  return ledger
    .weighedInBath(place, looked)
    .filter(({ run }) => run.simulated === simulated)
    .flatMap((weighed) => {
      const efficiency = figuresOf(weighed)?.efficiency ?? null;
      if (efficiency === null) return [];
      const { run, saved } = weighed;
      const pieceName = run.plan.request.piece.name;
      return [{ runId: run.id, pieceName, savedWallMs: saved.savedWallMs, efficiency }];
    })
    .slice(0, newestSamples);
}

/** Only where the parts are the same: a factor on other sizes says nothing about these. */
function sameParts(one: PieceDescription, other: PieceDescription): boolean {
  return JSON.stringify(one.parts) === JSON.stringify(other.parts);
}

function runningAreaFactor({ ledger }: StoreReader, run: RunRecord): RunningFigure | null {
  const { piece, pieceRef } = run.plan.request;
  const alike =
    pieceRef === undefined
      ? ledgerOfRun(ledger.weighIn(run.id), run)
      : ledger.weighedOfPiece(pieceRef.id, looked);
  const samples = alike
    .filter((one) => sameParts(one.run.plan.request.piece, piece))
    .flatMap((one) => {
      const factor = figuresOf(one)?.areaFactor ?? null;
      if (factor === null) return [];
      const planned = areaFactorOf(one.run.plan.request.piece);
      const { value, low, high } = factor;
      return [{ value: value * planned, low: low * planned, high: high * planned }];
    });
  return runningFigure(samples, piece.areaUncertainty);
}

function ledgerOfRun(
  saved: ReturnType<StoreReader['ledger']['weighIn']>,
  run: RunRecord,
): readonly WeighedRun[] {
  if (saved === null || saved.weighIn === null) return [];
  return [{ run, saved: { ...saved, weighIn: saved.weighIn } }];
}

function areaFactorOf({ areaFactor = 1 }: PieceDescription): number {
  return areaFactor;
}

function whyNone(run: RunRecord, hasWeighIn: boolean): string | null {
  if (!hasWeighIn) return 'Nothing is weighed or measured yet.';
  if (run.endedWallMs === null) return 'The run is not over; what you enter is kept until it is.';
  if (run.ampHours <= 0) return 'No charge has passed in this run: there is nothing to compare.';
  return null;
}

function adoptedIn(
  { ledger }: StoreReader,
  { tankId, bathId }: LedgerPlace,
): WeighInView['adoptedEfficiency'] {
  const found = ledger.adopted().find((one) => one.tankId === tankId && one.bathId === bathId);
  if (found === undefined) return null;
  const { value, uncertainty } = found.entry;
  return { value, uncertainty, by: found.by, savedWallMs: found.savedWallMs };
}

/** Reads what is saved and works out the rest; changes nothing. */
export function weighInView(reader: StoreReader, run: RunRecord): WeighInView {
  const saved = reader.ledger.weighIn(run.id);
  const weighIn = saved?.weighIn ?? null;
  const { piece, pieceRef } = run.plan.request;
  const { bath } = run.plan;
  const place = { tankId: run.tankId, bathId: bath.id };
  const samples = efficiencySamples(reader, place, run.simulated);
  const why = whyNone(run, weighIn !== null);
  const figures =
    weighIn === null || why !== null ? null : weighInFigures(run.plan, countedBy(run), weighIn);
  return {
    runId: run.id,
    saved,
    figures: figures === null ? null : { ...figures, remarks: [...figures.remarks] },
    why,
    hasHangers: piece.parts.some(({ kind }) => kind === 'hanger'),
    carriesOn: run.continues !== null,
    pieceRef: pieceRef ?? null,
    plannedAreaFactor: areaFactorOf(piece),
    ...place,
    bathName: bath.name,
    plannedEfficiency: bath.efficiency,
    adoptedEfficiency: adoptedIn(reader, place),
    runningEfficiency: runningFigure(
      samples.map(({ efficiency }) => efficiency),
      bath.efficiency.uncertainty,
    ),
    runningAreaFactor: runningAreaFactor(reader, run),
  };
}
