/** The other parts of a piece, small beside the one that is shown large; a press brings one to the front. */

import { html, nothing } from 'lit';
import { ringsFace } from '../rings-picture.ts';
import type { RingsInput } from '../rings.ts';
import { runWords } from '#words/run';

/** More than these are found by their names in a list. */
const mostFaces = 5;

export interface PartFace {
  readonly index: number;
  readonly label: string;
  readonly input: RingsInput;
}

/** Nothing where there is only one part. */
export function partChooser(
  parts: readonly PartFace[],
  shown: number,
  choose: (index: number) => void,
): unknown {
  if (parts.length < 2) return nothing;
  const others = parts.filter(({ index }) => index !== shown);
  const faces = others.slice(0, mostFaces);
  return html`<div class="part-faces" role="group" aria-label=${runWords.parts}>
    ${faces.map(
      ({ index, label, input }) =>
        html`<button type="button" class="part-face" @click=${() => choose(index)}>
          ${ringsFace(`part-${index}`, input)}
          <span>${label}</span>
        </button>`,
    )}
    ${
      others.length > faces.length
        ? html`<label>
            <span class="unseen">${runWords.parts}</span>
            <select
              @change=${(event: Event) => choose(Number((event.target as HTMLSelectElement).value))}
            >
              ${parts.map(
                ({ index, label }) =>
                  html`<option value=${index} ?selected=${index === shown}>${label}</option>`,
              )}
            </select>
          </label>`
        : nothing
    }
  </div>`;
}
