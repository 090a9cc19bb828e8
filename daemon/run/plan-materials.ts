/** What the plan has to know of the materials of a piece. */

import type { Material } from '../piece/material.ts';
import { judgeMaterials, type MaterialsJudgement } from '../piece/materials.ts';
import type { PlanRequest } from './model.ts';

/** The materials of a piece, judged, and those that give off a poison in the bath. */
export interface MaterialFindings {
  /** Null where the piece names none. */
  readonly judgement: MaterialsJudgement | null;
  /** Their ids. */
  readonly poisonous: ReadonlySet<string>;
}

/** Judges the materials that a request names; an id that the table does not know counts as unknown. */
export function materialFindings(
  { piece }: PlanRequest,
  table: readonly Material[],
): MaterialFindings {
  const ids = (piece.materials ?? []).map(({ id }) => id);
  const poisons = table.filter(({ poisonsWhenTested }) => poisonsWhenTested).map(({ id }) => id);
  return {
    judgement: ids.length === 0 ? null : judgeMaterials(ids, table),
    poisonous: new Set(poisons.filter((id) => ids.includes(id))),
  };
}
