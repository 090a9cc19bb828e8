/** How sure a plan is: its range, what makes most of the doubt, and what would shrink it. */

import { html, nothing } from 'lit';
import type { Plan } from '../daemon/run/model.ts';
import { plain, pretty, thickness, withUnit } from './format.ts';
import { planDetailWords } from '#words/plan-details';

/** Range, cause and remedy, a sentence each; empty for plans that do not say. */
export function doubtSentences({ dominant, thicknessMicrometres }: Plan): readonly string[] {
  if (!dominant) return [];
  const { source, share, halfWidth, remedy } = dominant;
  const { says, range } = planDetailWords.doubt;
  const { low, high } = thicknessMicrometres;
  return [
    range(withUnit(thickness(low)), withUnit(thickness(high))),
    says(source, `${Math.round(share * 100)} %`, `${plain(halfWidth * 100)} %`),
    remedy,
  ];
}

export function doubtDetail(plan: Plan): unknown {
  const sentences = doubtSentences(plan);
  if (sentences.length === 0) return nothing;
  return html`${sentences.map((sentence) => html`<p class="said-so">${pretty(sentence)}</p>`)} `;
}
