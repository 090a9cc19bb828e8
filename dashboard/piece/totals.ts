/** What the entries of a piece come to while they are typed, as far as the daemon has said it. */

import type { Problem } from '../../daemon/piece/model.ts';
import type { MeasuredPart, MeasuredWhole } from '../../daemon/run/measured-piece.ts';
import { pieceOf, type PieceDraft } from './draft.ts';
import type { Measurement } from './measuring.ts';

export interface Totals {
  readonly problems: readonly Problem[];
  /** A part by its key; null where an entry of it is wrong, or nothing is known of it yet. */
  readonly part: (key: string) => MeasuredPart | null;
  /** Null while anything is wrong, and before the first answer. */
  readonly whole: MeasuredWhole | null;
}

/** Fields by their path below `piece`, as the entries have them. */
function underRoot(root: string, problem: Problem): Problem {
  const message = problem.message.startsWith(problem.field)
    ? `${root}.${problem.message}`
    : problem.message;
  return { ...problem, field: `${root}.${problem.field}`, message };
}

/** The newest that is known of a draft: until its own answer is there, that of the state before. */
export function totalsOf(draft: PieceDraft, newest: Measurement | null, root = 'piece'): Totals {
  const { problems: unread } = pieceOf(draft, root);
  const known = new Set(unread.map(({ field }) => field));
  const judged = (newest?.answer.problems ?? [])
    .map((problem) => underRoot(root, problem))
    .filter(({ field }) => !known.has(field));
  return {
    problems: [...unread, ...judged],
    part: (key) => newest?.answer.parts[newest.keys.indexOf(key)] ?? null,
    whole: unread.length > 0 ? null : (newest?.answer.whole ?? null),
  };
}
