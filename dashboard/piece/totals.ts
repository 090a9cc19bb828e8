/** What the entries come to while they are typed: areas, shares, range, and what is wrong. */

import { pieceAreaUncertainty } from '../../daemon/piece/area-uncertainty.ts';
import type { PartDescription, PieceDescription, Problem } from '../../daemon/piece/model.ts';
import { partGrowth } from '../../daemon/piece/part-growth.ts';
import { partProblems } from '../../daemon/piece/part-problems.ts';
import { decidingPart, hangerShare, pieceGrowth, pieceProblems } from '../../daemon/piece/piece.ts';
import { pieceOf, type PieceDraft } from './draft.ts';

export interface Whole {
  readonly areaMm2: number;
  readonly lowMm2: number;
  readonly highMm2: number;
  /** Half width of the range, as a share. */
  readonly uncertainty: number;
  /** Share that belongs to hangers, 0 to 1. */
  readonly hanger: number;
  readonly decidingPart: number;
}

export interface Totals {
  readonly piece: PieceDescription;
  readonly problems: readonly Problem[];
  /** Plated area of each part, mm2, all alike of it; null where an entry of it is wrong. */
  readonly partAreasMm2: readonly (number | null)[];
  /** Null while anything is wrong. */
  readonly whole: Whole | null;
}

/** Fields by their path below `piece`, as the daemon names them. */
function underRoot(root: string, problem: Problem): Problem {
  const message = problem.message.startsWith(problem.field)
    ? `${root}.${problem.message}`
    : problem.message;
  return { ...problem, field: `${root}.${problem.field}`, message };
}

function areaOf(part: PartDescription, index: number): number | null {
  return partProblems(part, index).length > 0 ? null : partGrowth(part, index).areaMm2;
}

/** Judges and measures a draft as the daemon would, without asking it. */
export function totalsOf(draft: PieceDraft, root = 'piece'): Totals {
  const { piece, problems: unread } = pieceOf(draft, root);
  const known = new Set(unread.map(({ field }) => field));
  const judged = pieceProblems(piece)
    .map((problem) => underRoot(root, problem))
    .filter(({ field }) => !known.has(field));
  const problems = [...unread, ...judged];
  const partAreasMm2 = piece.parts.map(areaOf);
  if (problems.length > 0) return { piece, problems, partAreasMm2, whole: null };
  const { areaMm2 } = pieceGrowth(piece);
  const uncertainty = pieceAreaUncertainty(piece);
  return {
    piece,
    problems,
    partAreasMm2,
    whole: {
      areaMm2,
      lowMm2: areaMm2 * (1 - uncertainty),
      highMm2: areaMm2 * (1 + uncertainty),
      uncertainty,
      hanger: hangerShare(piece),
      decidingPart: decidingPart(piece),
    },
  };
}
