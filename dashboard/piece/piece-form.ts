/** One entry of the piece: label, text, unit, and beside it what is wrong with it. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Problem } from '../../daemon/piece/model.ts';
import { fieldId } from '../element.ts';
import { pretty } from '../format.ts';
import { toldOf } from '../problem.ts';
import type { PieceDraft } from './draft.ts';
import type { PartKind } from './kinds.ts';
import type { Totals } from './totals.ts';

/** Changes the draft; `what` names the edit, and edits of one `entry` in a row are one. */
export type Edit = (what: string, apply: (draft: PieceDraft) => void, entry?: string) => void;

/** What the parts of the builder show and how they change it. */
export interface PieceForm {
  readonly draft: PieceDraft;
  readonly totals: Totals;
  readonly problems: readonly Problem[];
  readonly edit: Edit;
  /** Puts another piece in place of this one. */
  readonly take: (piece: PieceDraft, what: string) => void;
  /** The path of the entry that has the focus. */
  readonly focused: string;
  readonly isOpen: (key: string) => boolean;
  readonly setOpen: (key: string, open: boolean) => void;
  readonly refresh: () => void;
  /** Puts the focus, after the next change, on the first of these that can take it. */
  readonly focusAfter: (...selectors: readonly string[]) => void;
}

/** A problem in the words of the form: labels instead of paths and names. */
export function problemText(problem: Problem, label: string, definition?: PartKind): string {
  const named = (definition?.fields ?? []).reduce(
    (said, one) => said.replaceAll(new RegExp(`\\b${one.name}\\b`, 'g'), one.label.toLowerCase()),
    toldOf(problem, label),
  );
  return pretty(named);
}

export function problemsAt(form: PieceForm, path: string): readonly Problem[] {
  return form.problems.filter(({ field }) => field === path);
}

export interface PieceEntry {
  readonly path: string;
  readonly label: string;
  readonly value: string;
  readonly unit?: string;
  readonly help?: unknown;
  readonly words?: boolean;
  readonly definition?: PartKind | undefined;
  /** A size may be a text such as "18 AWG", for which a phone needs all of its keys. */
  readonly anyKeys?: boolean;
  readonly what: string;
  readonly set: (draft: PieceDraft, text: string) => void;
}

export function pieceEntry(form: PieceForm, entry: PieceEntry): TemplateResult {
  const { path, label, value, unit, help, words: text, definition, anyKeys, what, set } = entry;
  const id = fieldId(path);
  const wrong = problemsAt(form, path);
  return html`<div class="field">
    <label for=${id}>${label}</label>
    <span class="entry">
      <input
        id=${id}
        data-path=${path}
        inputmode=${text || anyKeys ? 'text' : 'decimal'}
        autocomplete="off"
        autocapitalize="off"
        maxlength="200"
        .value=${value}
        aria-invalid=${wrong.length > 0}
        aria-describedby="${id}-note"
        @input=${(event: Event) => {
          const typed = (event.target as HTMLInputElement).value;
          form.edit(what, (draft) => set(draft, typed), path);
        }}
      />
      ${unit ? html`<span class="unit">${unit}</span>` : nothing}
    </span>
    <span class="note" id="${id}-note">
      ${
        wrong.length > 0
          ? wrong.map(
              (one) => html`<span class="problem">${problemText(one, label, definition)}</span>`,
            )
          : help
      }
    </span>
  </div>`;
}

export function pieceChoice(
  form: PieceForm,
  { path, label, value, help, what, set }: PieceEntry,
  choices: readonly (readonly [value: string, label: string])[],
): TemplateResult {
  const id = fieldId(path);
  const wrong = problemsAt(form, path);
  return html`<div class="field">
    <label for=${id}>${label}</label>
    <select
      id=${id}
      data-path=${path}
      aria-describedby="${id}-note"
      @change=${(event: Event) => {
        const chosen = (event.target as HTMLSelectElement).value;
        form.edit(what, (draft) => set(draft, chosen));
      }}
    >
      ${choices.map(
        ([option, text]) =>
          html`<option value=${option} .selected=${option === value}>${text}</option>`,
      )}
    </select>
    <span class="note" id="${id}-note">
      ${
        wrong.length > 0
          ? wrong.map((one) => html`<span class="problem">${problemText(one, label)}</span>`)
          : help
      }
    </span>
  </div>`;
}
