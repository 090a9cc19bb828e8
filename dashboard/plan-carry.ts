/** An earlier run that is to be carried on: until it has been fetched, nothing can be armed. */

import type { RunRecord } from '../daemon/wire/run.ts';
import { ampHours, withUnit } from './format.ts';
import { draftOf, type Draft, type DraftOrigin } from './plan-draft.ts';
import { planWords } from '#words/plan';

export interface CarryOn {
  readonly runId: string;
  /** Why it could not be fetched; empty while it is on its way. */
  readonly error: string;
}

/** The plan of a run, to go on from where that one ended. */
export function carriedDraft({ id, plan, ...run }: RunRecord): Draft {
  const { thicknessMicrometres, armedWallMs, lowAmpHours, highAmpHours } = run;
  const pieceName = plan.request.piece.name;
  return {
    ...draftOf(plan.request),
    continues: {
      runId: id,
      ampHours: run.ampHours,
      lowAmpHours,
      highAmpHours,
      thicknessMicrometres,
      pieceName,
      armedWallMs,
    },
  };
}

/** Between what the carried charge may lie; empty where all of it was measured. */
export function carriedBounds({ lowAmpHours: low, highAmpHours: high }: DraftOrigin): string {
  if (low === undefined || high === undefined || high <= low) return '';
  return planWords.bounds(ampHours(low).text, withUnit(ampHours(high)));
}
