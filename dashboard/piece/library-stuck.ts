/** What kept a piece from being saved, where there are ways out that one press takes. */

import { html, type TemplateResult } from 'lit';
import { ApiError } from '../api.ts';
import type { PieceDraft } from './draft.ts';
import { libraryWords } from '#words/library';

const text = libraryWords;

/** Each with what the page can do about it; nothing of the draft is lost in any of them. */
export type Stuck =
  /** Another page saved this version before. */
  | { readonly kind: 'newer'; readonly version: number }
  | { readonly kind: 'archived' }
  /** The library does not know the piece any more. */
  | { readonly kind: 'unknown' }
  /** Photos of traced outlines that the bench does not have any more, by their ids. */
  | { readonly kind: 'photo'; readonly ids: readonly string[] };

/** What a refused save of a piece is stuck on; null for a refusal that has no way out but its sentence. */
export function stuckOn(error: unknown): Stuck | null {
  if (!(error instanceof ApiError)) return null;
  const { status, problems } = error;
  if (status === 404) return { kind: 'unknown' };
  if (status === 409) {
    if (problems.some(({ field }) => field === 'archived')) return { kind: 'archived' };
    const newer = problems.find(({ field }) => field === 'version');
    return newer === undefined ? null : { kind: 'newer', version: Number(newer.bound) };
  }
  const lost = problems.filter(({ field }) => field.endsWith('.outline.pictureId'));
  // With something else wrong beside it, going on without the photo would be refused again.
  if (status !== 422 || lost.length === 0 || lost.length < problems.length) return null;
  return { kind: 'photo', ids: lost.map(({ value }) => value) };
}

/** Takes these photos out of a draft; the traces and their areas stay. */
export function dropPhotos({ parts }: PieceDraft, ids: readonly string[]): void {
  for (const { outline } of parts) {
    if (outline !== null && ids.includes(outline.pictureId ?? '')) outline.pictureId = null;
  }
}

/** What the page can do: save over, save beside, open what is there, bring back, leave the photo out. */
export interface WaysOut {
  readonly saveOver: (version: number) => void;
  readonly saveNew: () => void;
  readonly openTheirs: () => void;
  readonly bringBack: () => void;
  readonly without: (ids: readonly string[]) => void;
  /** A button in the manner of the page. */
  readonly press: (label: string, act: () => void) => TemplateResult;
}

function ways(stuck: Stuck, out: WaysOut): readonly TemplateResult[] {
  const { press } = out;
  switch (stuck.kind) {
    case 'newer':
      return [
        press(text.takeTheirs, out.openTheirs),
        press(text.keepMineNew, out.saveNew),
        press(text.keepMine, () => out.saveOver(stuck.version)),
      ];
    case 'archived':
      return [press(text.bringBack, out.bringBack), press(text.keepMineNew, out.saveNew)];
    case 'unknown':
      return [press(text.keepMineNew, out.saveNew)];
    case 'photo':
      return [press(text.withoutPhoto, () => out.without(stuck.ids))];
  }
}

function told(stuck: Stuck): { readonly title: string; readonly says: string } {
  if (stuck.kind !== 'newer') return text.stuck[stuck.kind];
  return { title: text.conflictTitle, says: text.conflict(stuck.version) };
}

/** Says what it is stuck on, with a button for each way out. */
export function stuckNotice(stuck: Stuck, out: WaysOut): TemplateResult {
  const { title, says } = told(stuck);
  return html`<div class="notice is-warn conflict" role="alert">
    <strong>${title}</strong>
    <span>${says}</span>
    <div class="actions">${ways(stuck, out)}</div>
  </div>`;
}
