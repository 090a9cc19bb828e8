/** What a supply answered in each dialect, and which of those that fit is meant. */

import { html, nothing, type TemplateResult } from 'lit';
import { button } from '../element.ts';
import type { Fit, FoundSupply } from './found.ts';
import { supplyWords } from '#words/supply';

const say = supplyWords.ask;

function choice(fits: readonly Fit[], fit: Fit | null, choose: (dialect: string) => void): unknown {
  if (fits.length < 2) return nothing;
  return html`<fieldset class="setup-ports">
    <legend>${say.which}</legend>
    ${fits.map(
      ({ dialect }) =>
        html`<label>
          <input
            type="radio"
            name="supply-dialect"
            .checked=${fit?.dialect === dialect}
            @change=${() => choose(dialect)}
          />
          <span>${dialect}</span>
        </label>`,
    )}
  </fieldset>`;
}

function whatItCan(fit: Fit | null): unknown {
  if (fit === null) return nothing;
  const { maxVolts, maxAmps, lacks, outputOn, standingErrors } = fit;
  return html`<p>${say.gives(maxVolts, maxAmps)} ${lacks === '' ? say.whole : say.lacks(lacks)}</p>
    ${outputOn === true ? html`<p class="problem">${say.on}</p>` : nothing}
    ${
      standingErrors.length === 0
        ? nothing
        : html`<p class="aside">${say.errors(standingErrors.join('; '))}</p>`
    }`;
}

export function askedView(
  found: FoundSupply,
  ask: () => void,
  choose: (dialect: string) => void,
): TemplateResult {
  const { fit, fits, tried, trying } = found;
  const none = trying === '' && tried.length > 0 && fits.length === 0;
  return html`<p class="aside">${say.help}</p>
    <p class="actions">
      ${button(say.press, ask, {
        id: 'ask-supply',
        strong: tried.length === 0,
        reason: trying === '' ? '' : say.trying(trying),
      })}
    </p>
    <div role="status">
      <ul class="setup-found">
        ${tried.map(
          (one) =>
            html`<li>
              <code>${one.dialect}</code>: ${one.fits ? say.answers(one.identity) : one.why}
            </li>`,
        )}
      </ul>
    </div>
    ${none ? html`<p class="problem">${say.no}</p>` : nothing} ${choice(fits, fit, choose)}
    ${whatItCan(fit)}`;
}
