/** One field of the run's form: its label, its entry, and beside it what is wrong with it. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Problem } from '../daemon/piece/model.ts';
import type { BenchSnapshot } from '../daemon/wire/bench.ts';
import { fieldId } from './element.ts';
import type { Draft } from './plan-draft.ts';
import { toldOf } from './problem.ts';
import { told } from './units.ts';

/** Changes the draft; `what` names the edit, and edits of one `entry` in a row are one. */
export type Change = (edit: (draft: Draft) => void, what: string, entry?: string) => void;

/** What the form shows and how it is changed. */
export interface FormContext {
  readonly draft: Draft;
  readonly bench: BenchSnapshot;
  readonly problems: readonly Problem[];
  /** Applies a change to the draft, keeps it and plans anew. */
  readonly change: Change;
}

export interface Entry {
  readonly path: string;
  readonly label: string;
  readonly value: string;
  readonly unit?: string;
  readonly help?: string;
  readonly words?: boolean;
  /** Takes the whole width of the form. */
  readonly wide?: boolean;
  readonly set: (draft: Draft, text: string) => void;
}

/** What is wrong with a field, in the words of its label instead of its path. */
export function fieldProblems(form: FormContext, path: string, label: string): unknown {
  return form.problems
    .filter(({ field }) => field === path)
    .map((one) => html`<span class="problem">${told(toldOf(one, label))}</span>`);
}

export function entry(
  form: FormContext,
  { path, label, value, unit, help, wide, set, words: text }: Entry,
): TemplateResult {
  const id = fieldId(path);
  const wrong = form.problems.some(({ field }) => field === path);
  return html`<div class="field ${wide ? 'wide' : ''}">
    <label for=${id}>${label}</label>
    <span class="entry">
      <input
        id=${id}
        inputmode=${text ? 'text' : 'decimal'}
        autocomplete="off"
        autocapitalize="off"
        maxlength="200"
        .value=${value}
        aria-invalid=${wrong}
        aria-describedby="${id}-note"
        @input=${(event: Event) =>
          form.change((draft) => set(draft, (event.target as HTMLInputElement).value), label, path)}
      />
      ${unit ? html`<span class="unit">${unit}</span>` : nothing}
    </span>
    <span class="note" id="${id}-note"> ${fieldProblems(form, path, label)} ${help} </span>
  </div>`;
}

type Choice = readonly [value: string, label: string];

export function choice(
  form: FormContext,
  { path, label, value, help, wide, set }: Omit<Entry, 'unit' | 'words'>,
  choices: readonly Choice[],
): TemplateResult {
  const id = fieldId(path);
  const wrong = form.problems.some(({ field }) => field === path);
  return html`<div class="field ${wide ? 'wide' : ''}">
    <label for=${id}>${label}</label>
    <select
      id=${id}
      aria-invalid=${wrong}
      aria-describedby="${id}-note"
      @change=${(event: Event) =>
        form.change((draft) => set(draft, (event.target as HTMLSelectElement).value), label)}
    >
      ${choices.map(
        ([option, text]) =>
          html`<option value=${option} .selected=${option === value}>${text}</option>`,
      )}
    </select>
    <span class="note" id="${id}-note"> ${fieldProblems(form, path, label)} ${help} </span>
  </div>`;
}
