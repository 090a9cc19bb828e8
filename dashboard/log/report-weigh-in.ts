/** The weigh-in of a run for its report: what was weighed and measured, and what follows. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Ranged } from '../../daemon/run/model.ts';
import type { WeighInView } from '../../daemon/wire/weigh-in.ts';
import { fact } from '../element.ts';
import * as format from '../format.ts';
import { shortened } from './report-content.ts';
import { reportWords } from '#words/report';

const grams = (value: number): string => format.withUnit(format.mass(value));

/** As it was read off the balance, with all its digits. */
const readOff = (value: number): string =>
  format.withUnit({ text: format.exact(value), unit: 'g' });

const percent = (share: number): string => format.plain(share * 100, 3);

function percentRange({ low, high }: Ranged): string {
  return reportWords.figures.range(format.range(percent(low), `${percent(high)} %`));
}

function thicknessFact(label: string, thickness: Ranged | null): TemplateResult | typeof nothing {
  if (thickness === null) return nothing;
  const range = format.thicknessRange(thickness.low, thickness.high);
  return fact(
    label,
    format.withUnit(format.thickness(thickness.value)),
    reportWords.figures.range(range),
  );
}

/** Nothing where nobody weighed, or where it was taken back. */
export function weighInSection(view: WeighInView | null): TemplateResult | typeof nothing {
  const weighIn = view?.saved?.weighIn ?? null;
  if (view === null || weighIn === null) return nothing;
  const { figures, plannedEfficiency, why } = view;
  const { beforeGrams, afterGrams, callipers, note } = weighIn;
  return html`<section class="weigh-in">
    <h2>${reportWords.weighIn}</h2>
    <p>
      ${
        beforeGrams === null || afterGrams === null
          ? nothing
          : reportWords.weighed(readOff(beforeGrams), readOff(afterGrams))
      }
      ${callipers.length === 0 ? nothing : reportWords.places(callipers.length)}
      ${shortened(note, 300)} ${why}
    </p>
    ${
      figures === null
        ? nothing
        : html`<dl class="facts">
              ${
                figures.gainGrams === null
                  ? nothing
                  : fact(
                      reportWords.gain,
                      grams(figures.gainGrams.value),
                      reportWords.expected(grams(figures.expectedGrams.value)),
                    )
              }
              ${
                figures.efficiency === null
                  ? nothing
                  : fact(
                      reportWords.efficiency,
                      `${percent(figures.efficiency.value)} %`,
                      reportWords.plannedEfficiency(
                        percentRange(figures.efficiency),
                        `${percent(plannedEfficiency.value)} %`,
                      ),
                    )
              }
              ${thicknessFact(reportWords.byMass, figures.massMicrometres)}
              ${thicknessFact(reportWords.byCallipers, figures.calliperMicrometres)}
            </dl>
            <ul>
              ${figures.remarks.slice(0, 3).map(({ text }) => html`<li>${format.pretty(text)}</li>`)}
            </ul>`
    }
  </section>`;
}
