/** The draft and its way back as the browser keeps them, for this tab and the others. */

import { draftFrom, type Draft } from './plan-draft.ts';
import { History } from './plan-history.ts';
import { keep, kept } from './theme.ts';
import { planWords } from '#words/plan';

const draftKey = 'nightbath.draft';
const historyKey = 'nightbath.plan-history';

const draftFromStored = (stored: unknown): Draft => draftFrom(JSON.stringify(stored));

export function keptHistory(): History<Draft> {
  return History.from(kept(historyKey), draftFrom(kept(draftKey)), draftFromStored);
}

export function keepDraft(draft: Draft): void {
  keep(draftKey, JSON.stringify(draft));
}

/**
 * Keeps the way back. Where another tab has kept a draft of its own since, that one stays, and the
 * draft of this tab becomes a step back from it.
 */
export function keepHistory(history: History<Draft>, elsewhere: Draft | null): void {
  if (elsewhere === null) {
    keep(historyKey, history.toText());
    return;
  }
  const other = History.from(kept(historyKey), elsewhere, draftFromStored);
  other.shelve(history.now, planWords.elsewhere.what);
  keep(historyKey, other.toText());
}

/**
 * What another tab has kept in place of a draft: null where it is the same one, undefined where the
 * event is about something else.
 */
export function keptElsewhere(
  { key, newValue }: Pick<StorageEvent, 'key' | 'newValue'>,
  draft: Draft,
): Draft | null | undefined {
  if (key !== draftKey || newValue === null) return undefined;
  const other = draftFrom(newValue);
  return JSON.stringify(other) === JSON.stringify(draftFrom(JSON.stringify(draft))) ? null : other;
}
