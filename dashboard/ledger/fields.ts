/** Fields of the ledger's forms: a label, an entry, and below it what is wrong or what it is for. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Problem } from '../../daemon/piece/model.ts';
import { fieldId } from '../element.ts';
import { pretty } from '../format.ts';
import { typedWords as say } from '#words/typed';

export interface Field {
  readonly path: string;
  readonly label: string;
  readonly value: string;
  readonly unit?: string;
  readonly help?: string;
  /** Words, not a figure. */
  readonly text?: boolean;
  readonly type?: 'text' | 'datetime-local';
  readonly wide?: boolean;
  readonly problems: readonly Problem[];
  readonly set: (text: string) => void;
}

const valueOf = (event: Event): string =>
  (event.target as HTMLInputElement | HTMLSelectElement).value;

/** In the words of the label instead of the path. */
function problemsAt(problems: readonly Problem[], path: string, label: string): unknown {
  return problems
    .filter(({ field }) => field === path)
    .map(({ message, field, value, bound }) => {
      // What is the daemon's and names no path is shown as it is.
      const own = message.startsWith(label) || /^The\b/.test(message);
      const text = own ? message : say.is(label, value, bound);
      return html`<span class="problem" data-field=${field}>${pretty(text)}</span>`;
    });
}

function framed(field: Omit<Field, 'set' | 'value'>, id: string, control: unknown): TemplateResult {
  const { path, label, unit, help = '', wide = false, problems } = field;
  return html`<div class="field ${wide ? 'wide' : ''}">
    <label for=${id}>${label}</label>
    <span class="entry"
      >${control} ${unit ? html`<span class="unit">${unit}</span>` : nothing}</span
    >
    <span class="note" id="${id}-note">${problemsAt(problems, path, label)} ${help}</span>
  </div>`;
}

export function entryField(field: Field): TemplateResult {
  const { path, value, text = false, type = 'text', problems, set } = field;
  const id = fieldId(`ledger-${path}`);
  return framed(
    field,
    id,
    html`<input
      id=${id}
      type=${type}
      inputmode=${text ? 'text' : 'decimal'}
      autocomplete="off"
      maxlength=${text ? 500 : 20}
      .value=${value}
      aria-invalid=${problems.some((one) => one.field === path)}
      aria-describedby="${id}-note"
      @input=${(event: Event) => set(valueOf(event))}
    />`,
  );
}

export function choiceField(
  field: Field,
  choices: readonly (readonly [value: string, label: string])[],
): TemplateResult {
  const { path, value, problems, set } = field;
  const id = fieldId(`ledger-${path}`);
  return framed(
    field,
    id,
    html`<select
      id=${id}
      aria-invalid=${problems.some((one) => one.field === path)}
      aria-describedby="${id}-note"
      @change=${(event: Event) => set(valueOf(event))}
    >
      ${choices.map(
        ([option, label]) =>
          html`<option value=${option} .selected=${option === value}>${label}</option>`,
      )}
    </select>`,
  );
}

export function tickField(
  label: string,
  checked: boolean,
  set: (on: boolean) => void,
): TemplateResult {
  return html`<label class="tick">
    <input
      type="checkbox"
      .checked=${checked}
      @change=${(event: Event) => set((event.target as HTMLInputElement).checked)}
    />
    <span>${label}</span>
  </label>`;
}

/** What is wrong with no field in particular. */
export function otherProblems(problems: readonly Problem[], known: readonly string[]): unknown {
  return problems
    .filter(({ field }) => !known.includes(field))
    .map(({ message }) => html`<p class="problem">${pretty(message)}</p>`);
}
