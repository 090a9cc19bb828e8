/** An earlier run that is to be carried on: until it has been fetched, nothing can be armed. */

import type { RunRecord } from '../daemon/wire/run.ts';
import { draftOf, type Draft } from './plan-draft.ts';

export interface CarryOn {
  readonly runId: string;
  /** Why it could not be fetched; empty while it is on its way. */
  readonly error: string;
}

/** The plan of a run, to go on from where that one ended. */
export function carriedDraft({ id, plan, ampHours, ...run }: RunRecord): Draft {
  const { thicknessMicrometres, armedWallMs } = run;
  const pieceName = plan.request.piece.name;
  return {
    ...draftOf(plan.request),
    continues: { runId: id, ampHours, thicknessMicrometres, pieceName, armedWallMs },
  };
}
