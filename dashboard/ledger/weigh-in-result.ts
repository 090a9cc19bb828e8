/** What a weigh-in says: true efficiency and thickness with their ranges, and what to know about them. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Ranged } from '../../daemon/run/model.ts';
import type { WeighInView } from '../../daemon/wire/weigh-in.ts';
import { fact } from '../element.ts';
import { mass, plain, pretty, range, thickness, thicknessRange, withUnit } from '../format.ts';
import { explainedIn } from '../explained-term.ts';
import { grown, percent, percentRange, percentWith, share } from './figures.ts';
import { weighInWords as say } from '#words/ledger';

type Figures = NonNullable<WeighInView['figures']>;

function thicknessFact(label: string, micrometres: Ranged | null): unknown {
  if (micrometres === null) return nothing;
  const { value, between } = grown(micrometres);
  return fact(label, value, between);
}

/** By callipers alone, where nothing was weighed. */
function efficiencyFact({ efficiency, calliperEfficiency: shown }: Figures): unknown {
  if (efficiency !== null || shown === null) return nothing;
  return fact(say.efficiency, share(shown.value), `${percentRange(shown)}; ${say.weak}`);
}

function massFact({ gainGrams, expectedGrams }: Figures): unknown {
  if (gainGrams === null) return nothing;
  const expected = say.expected(withUnit(mass(expectedGrams.value)));
  const { text, unit } = mass(gainGrams.value);
  return fact(say.gain, html`<span class="figure">${text}<small> ${unit}</small></span>`, expected);
}

/** The answer in one sentence, where there was a balance. */
function lead({ efficiency, massMicrometres }: Figures): unknown {
  if (efficiency === null || massMicrometres === null) return nothing;
  const { low, high } = massMicrometres;
  const thick = withUnit(thickness(massMicrometres.value));
  const between = thicknessRange(low, high);
  const text = say.lead(`${percent(efficiency.value)} %`, percentRange(efficiency), thick, between);
  return html`<p class="weigh-lead">${explainedIn(pretty(text), ['efficiency'])}</p>`;
}

export function weighInResult({ figures, why, plannedEfficiency }: WeighInView): TemplateResult {
  if (figures === null) return html`<p class="aside">${why}</p>`;
  const { value, uncertainty } = plannedEfficiency;
  return html`${lead(figures)}
    <dl class="facts weigh-facts">
      ${efficiencyFact(figures)} ${thicknessFact(say.byCallipers, figures.calliperMicrometres)}
      ${thicknessFact(say.counted, figures.countedMicrometres)} ${massFact(figures)}
      ${
        figures.areaFactor === null
          ? nothing
          : fact(
              say.factor,
              html`<span class="figure">${plain(figures.areaFactor.value, 3)}</span>`,
              range(plain(figures.areaFactor.low, 3), plain(figures.areaFactor.high, 3)),
            )
      }
    </dl>
    <p class="aside">${say.bathPlanned(percentWith(value, uncertainty))}</p>
    <ul class="remarks" ?hidden=${figures.remarks.length === 0}>
      ${figures.remarks.map(({ text }) => html`<li>${pretty(text)}</li>`)}
    </ul>`;
}
