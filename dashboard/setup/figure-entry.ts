/** A field for one figure that is no setting: what a meter shows, what a resistor bears. */

import { html, type TemplateResult } from 'lit';

export interface FigureEntry {
  readonly id: string;
  readonly label: string;
  readonly value: string;
  readonly unit: string;
}

/** `hear` is told what is typed, at each key. */
export function figureEntry(
  { id, label, value, unit }: FigureEntry,
  hear: (typed: string) => void,
): TemplateResult {
  return html`<div class="field">
    <label for=${id}>${label}</label>
    <span class="entry">
      <input
        id=${id}
        inputmode="decimal"
        autocomplete="off"
        .value=${value}
        @input=${(event: Event) => hear((event.target as HTMLInputElement).value)}
      />
      <span class="unit">${unit}</span>
    </span>
  </div>`;
}
