/** The checks before a start: what stands in the way first, each with its remedy; what is well folded. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Check, CheckId } from '../daemon/run/checks/model.ts';
import { isOpen, objections } from '../daemon/run/checks/start.ts';
import type { CheckProbe } from '../daemon/run/probe-model.ts';
import type { TankChecks } from '../daemon/wire/checks.ts';
import { explained, explainedIn, type Term } from './explained-term.ts';
import { checkWords } from '#words/checks';

/** What is said for a start on this page. */
export interface Said {
  readonly acknowledged: Set<CheckId>;
  attended: boolean;
  confirmation: string;
}

/** Checks that are a short look of their own, at a low current. */
export const probeOf: Partial<Record<CheckId, CheckProbe>> = {
  continuity: 'continuity',
  drill: 'drill',
};

export function nothingSaid(): Said {
  return { acknowledged: new Set(), attended: false, confirmation: '' };
}

/** The same as the body of a start. */
export function startBody(said: Said): object {
  const { acknowledged, attended, confirmation } = said;
  return {
    acknowledged: [...acknowledged],
    attended,
    ...(confirmation !== '' && { confirmation }),
  };
}

/** Why a start has to wait for the checks; empty when it need not. */
export function whyNotStarted(answer: TankChecks | null, said: Said): string {
  if (answer === null) return checkWords.reading;
  const { acknowledged, attended, confirmation } = said;
  const spoken = { acknowledged: [...acknowledged], attended, confirmation };
  const open = objections(answer.checks, spoken);
  return open.length === 0 ? '' : checkWords.waits(open.length);
}

function mark({ state, weight }: Check): TemplateResult {
  const kind = state === 'ok' || state === 'notNeeded' ? state : weight;
  return html`<span class="mark ${kind}">${checkWords.marks[kind]}</span>`;
}

/** Checks whose names say little to who meets them first. */
const termOf: Partial<Record<CheckId, Term>> = { continuity: 'continuity', drill: 'drill' };

function row(check: Check, deeds: unknown): TemplateResult {
  const { id, title, sentence, remedy } = check;
  const term = termOf[id];
  return html`<li data-check=${id}>
    <p>${mark(check)} <b>${term ? explained(term, title) : title}</b></p>
    <p>${sentence}</p>
    ${remedy === '' ? nothing : html`<p class="aside">${remedy}</p>`} ${deeds}
  </li>`;
}

function seen(id: CheckId, said: Said, changed: () => void): TemplateResult {
  const tick = ({ target }: Event): void => {
    if ((target as HTMLInputElement).checked) said.acknowledged.add(id);
    else said.acknowledged.delete(id);
    changed();
  };
  return html`<label class="tick">
    <input type="checkbox" .checked=${said.acknowledged.has(id)} @change=${tick} />
    ${checkWords.seen}
  </label>`;
}

/** Whoever stays needs no call; whoever leaves it alone says so in writing. */
function company(phrase: string, said: Said, changed: () => void): TemplateResult {
  const stay = ({ target }: Event): void => {
    said.attended = (target as HTMLInputElement).checked;
    changed();
  };
  const type = ({ target }: Event): void => {
    said.confirmation = (target as HTMLInputElement).value;
    changed();
  };
  return html`<label class="tick">
      <input type="checkbox" .checked=${said.attended} @change=${stay} />
      ${checkWords.stay}
    </label>
    ${
      said.attended
        ? nothing
        : html`<p class="aside">${explainedIn(checkWords.unattended, ['unattended'])}</p>
            <p class="field typed">
              <label for="unattended">${checkWords.type(phrase)}</label>
              <input
                id="unattended"
                type="text"
                autocomplete="off"
                autocapitalize="off"
                .value=${said.confirmation}
                @input=${type}
              />
            </p>`
    }`;
}

export interface ChecksShown {
  readonly answer: TankChecks | null;
  readonly error: string;
  /** What is said for the start; null where nothing is started from here. */
  readonly said: Said | null;
  readonly changed: () => void;
  /** What can be done about a check from here, or where it can be done. */
  readonly deed?: (check: Check) => unknown;
}

function below(check: Check, { said, changed, answer, deed }: ChecksShown): unknown {
  const does = deed?.(check) ?? nothing;
  if (said === null || check.weight === 'hard') return does;
  if (check.id !== 'alerts') return html`${does} ${seen(check.id, said, changed)}`;
  return html`${does} ${answer?.phrase ? company(answer.phrase, said, changed) : nothing}`;
}

export function checksSection(shown: ChecksShown): TemplateResult {
  const { answer, error } = shown;
  const open = answer?.checks.filter(isOpen) ?? [];
  const rest = answer?.checks.filter((check) => !isOpen(check)) ?? [];
  const well = rest.filter(({ state }) => state === 'ok').length;
  const skipped = rest.length - well;
  return html`<section class="checks" aria-labelledby="checks-title">
    <h3 id="checks-title">${checkWords.title}</h3>
    <p class="aside" role="status">
      ${answer === null ? error || checkWords.reading : checkWords.summary(open.length, well, skipped)}
    </p>
    <ul class="open">
      ${open.map((check) => row(check, below(check, shown)))}
    </ul>
    ${
      rest.length === 0
        ? nothing
        : html`<details>
            <summary>${checkWords.restTitle(well, skipped)}</summary>
            <ul>
              ${rest.map((check) => row(check, shown.deed?.(check) ?? nothing))}
            </ul>
          </details>`
    }
    ${answer?.caution ? html`<p class="caution">${answer.caution}</p>` : nothing}
  </section>`;
}
