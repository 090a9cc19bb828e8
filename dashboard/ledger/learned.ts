/** The sections of a bath's page on how hard it works and what weigh-ins have taught. */

import { html, nothing, type TemplateResult } from 'lit';
import type { LedgerView } from '../../daemon/wire/ledger.ts';
import { button, fact, figure } from '../element.ts';
import { day, plain, pretty, threeDigits } from '../format.ts';
import { addresses } from '../route.ts';
import { percent, percentRange, percentWith } from './figures.ts';
import { titled, type Presses } from './sections.ts';
import { isOffered, offeredEfficiency } from './weigh-in-offers.ts';
import { areaLabel, densityBounds, densityLabel, perAreaUnit, perDensityUnit } from '../units.ts';
import { ledgerWords as say } from '#words/ledger';

type Measure = NonNullable<LedgerView['load']>['measures'][number];

/** The range that is usual, and the figure, in the unit in which densities are told. */
function inUnit({ id, value, low, high }: Measure): {
  readonly text: string;
  readonly unit: string;
  readonly low: string | null;
  readonly high: string;
} {
  if (id !== 'anodeAmpsPerDm2') {
    const least = low === null ? null : plain(low, 2);
    return { text: threeDigits(value), unit: say.load.units[id], low: least, high: plain(high, 2) };
  }
  const [least, most] = densityBounds(low ?? 0, high);
  const text = threeDigits(value / perDensityUnit());
  return { text, unit: densityLabel(), low: low === null ? null : least, high: most };
}

function measure(one: Measure): TemplateResult {
  const { id, verdict } = one;
  const { text, unit, low, high } = inUnit(one);
  const usual = low === null ? say.load.upTo(high) : say.load.between(low, high);
  const judged = verdict === 'usual' ? usual : `${say.load.verdicts[verdict]}: ${usual}`;
  return fact(say.load.names[id], figure({ text, unit }), judged);
}

export function loadSection({ load, volumeLitres, anodeAreaDm2 }: LedgerView): TemplateResult {
  return titled(
    'load-title',
    say.load.title,
    html`<p class="aside">${load === null ? say.load.none : say.load.of(load.pieceName)}</p>
      <dl class="facts">
        ${load?.measures.map(measure)}
        ${
          volumeLitres === null
            ? nothing
            : fact(say.load.volume, figure({ text: plain(volumeLitres, 3), unit: 'L' }))
        }
        ${
          anodeAreaDm2 === null
            ? nothing
            : fact(
                say.load.anodeArea,
                figure({ text: plain(anodeAreaDm2 / perAreaUnit(), 3), unit: areaLabel() }),
              )
        }
      </dl>
      ${
        load === null
          ? nothing
          : html`<details>
              <summary>${say.load.sources}</summary>
              <ul class="sources">
                ${load.measures.map(
                  ({ id, source }) => html`<li>${say.load.names[id]}: ${pretty(source)}</li>`,
                )}
              </ul>
            </details>`
      }`,
  );
}

function samples({ efficiency }: LedgerView): unknown {
  if (efficiency === null || efficiency.samples.length === 0) return nothing;
  return html`<details>
    <summary>${say.efficiency.samples}</summary>
    <ul class="sources">
      ${efficiency.samples.map(
        ({ runId, pieceName, savedWallMs, efficiency: { value, low, high } }) =>
          html`<li>
            <a href=${addresses.weighIn(runId)}>${pieceName}</a>, ${day(savedWallMs)}:
            ${percent(value)} % (${percentRange({ low, high })})
          </li>`,
      )}
    </ul>
  </details>`;
}

type Efficiency = NonNullable<LedgerView['efficiency']>;

/** What plans go by now, and whether it was taken over. */
function inUse({ file, adopted }: Efficiency) {
  const entry = adopted?.entry?.kind === 'efficiency' ? adopted.entry : null;
  const from =
    adopted === null || entry === null
      ? say.efficiency.fromFile
      : say.efficiency.adopted(adopted.by, day(adopted.savedWallMs));
  const { value, uncertainty } = entry ?? file;
  return { value, uncertainty, from, taken: entry !== null };
}

function efficiencyFacts(efficiency: Efficiency): TemplateResult {
  const { learned } = efficiency;
  const used = inUse(efficiency);
  const text = (value: number, half: number): TemplateResult =>
    html`<span class="figure">${percentWith(value, half)}</span>`;
  const about =
    learned === null
      ? ''
      : `${say.efficiency.median(learned.count)}, ${say.efficiency.spread(`${percent(learned.spread)} %`)}`;
  return html`<dl class="facts">
    ${fact(say.efficiency.inUse, text(used.value, used.uncertainty), used.from)}
    ${
      learned === null
        ? nothing
        : fact(say.efficiency.learned, text(learned.value, learned.halfWidth), about)
    }
  </dl>`;
}

function takeOver({ learned, ...rest }: Efficiency, presses: Presses): unknown {
  if (learned === null) return nothing;
  const used = inUse({ learned, ...rest });
  const { value, uncertainty } = offeredEfficiency(learned);
  if (value === used.value && uncertainty === used.uncertainty) return nothing;
  if (!isOffered(learned, rest.file.value)) return html`<p>${say.efficiency.capped}</p>`;
  return button(say.efficiency.take(percentWith(value, uncertainty)), presses.takeEfficiency, {
    reason: presses.reason,
    id: 'take-why',
  });
}

export function efficiencySection(view: LedgerView, presses: Presses): unknown {
  const { efficiency } = view;
  if (efficiency === null) return nothing;
  const { learned, file } = efficiency;
  const few = learned !== null && learned.count < 3;
  return titled(
    'efficiency-title',
    say.efficiency.title,
    html`<p class="aside">${say.efficiency.explain}</p>
      ${efficiencyFacts(efficiency)}
      ${learned === null ? html`<p>${say.efficiency.none}</p>` : nothing}
      ${few ? html`<p class="aside">${say.efficiency.few}</p>` : nothing}
      <div class="actions">
        ${takeOver(efficiency, presses)}
        ${
          inUse(efficiency).taken
            ? button(say.efficiency.back, presses.takeBackEfficiency, {
                reason: presses.reason,
                id: 'go-back-why',
              })
            : nothing
        }
      </div>
      ${samples(view)}
      <details>
        <summary>${say.efficiency.source}</summary>
        <p class="aside">${pretty(file.source)}</p>
      </details>`,
  );
}
