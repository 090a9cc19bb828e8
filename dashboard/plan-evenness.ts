/** How evenly the metal will lie: the thinnest and thickest place, and what evens it out. */

import { html, nothing, type TemplateResult } from 'lit';
import { partNameOf } from '../daemon/piece/part-names.ts';
import type { Plan } from '../daemon/run/model.ts';
import { fact, figure } from './element.ts';
import { plain, pretty, thickness } from './format.ts';
import { planDetailWords } from '#words/plan-details';

/** What the form of the part that decides is taken for, with its published ratio where there is one. */
export function formWords({ request, evenness }: Plan): string {
  if (!evenness) return '';
  const { partIndex, form, published, source } = evenness;
  const part = partNameOf(request.piece, partIndex);
  return published === null
    ? planDetailWords.even.habit(part, form, source)
    : planDetailWords.even.published(part, form, plain(published), source);
}

export function evennessDetail(plan: Plan): unknown {
  const { evenness, thicknessMicrometres } = plan;
  if (!evenness) return nothing;
  const { thinnestMicrometres, thickestMicrometres, maxToMean, meanToMin } = evenness;
  const text = planDetailWords.even;
  const hints: readonly string[] = [
    text.turn(evenness.turnEveryMinutes, evenness.turns),
    text.anode,
    text.thief,
  ];
  const section: TemplateResult = html`<dl class="facts three">
      ${fact(
        text.thinnest,
        figure(thickness(thinnestMicrometres)),
        text.thinnestNote(plain(meanToMin.low), plain(meanToMin.high)),
      )}
      ${fact(text.mean, figure(thickness(thicknessMicrometres.value)))}
      ${fact(
        text.thickest,
        figure(thickness(thickestMicrometres)),
        text.thickestNote(plain(maxToMean.low), plain(maxToMean.high)),
      )}
    </dl>
    <p class="aside">${pretty(formWords(plan))}</p>
    <ul class="hints">
      ${hints.map((hint) => html`<li>${pretty(hint)}</li>`)}
    </ul> `;
  return section;
}
