/** The sections of a bath's page on how hard it works and what weigh-ins have taught. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Ranged } from '../../daemon/run/model.ts';
import type { LedgerView } from '../../daemon/wire/ledger.ts';
import { button, fact, figure } from '../element.ts';
import { day, plain, pretty, range as between, threeDigits } from '../format.ts';
import { addresses } from '../route.ts';
import { percent, percentRange, percentWith } from './figures.ts';
import { titled, type Presses } from './sections.ts';
import { isOffered, offeredEfficiency } from './weigh-in-offers.ts';
import { areaLabel, densityBounds, densityLabel, perAreaUnit, perDensityUnit } from '../units.ts';
import { ledgerWords as say } from '#words/ledger';

type Measure = NonNullable<LedgerView['load']>['measures'][number];

/** A figure of a measure, how far it can be trusted and what is usual, in the unit in which it is told. */
interface Told {
  readonly text: string;
  readonly unit: string;
  readonly doubt: string;
  readonly low: string | null;
  readonly high: string;
}

function inUnit({ id, value, range, low, high }: Measure): Told {
  if (id !== 'anodeAmpsPerDm2') {
    const least = low === null ? null : plain(low, 2);
    const unit = say.load.units[id];
    const doubt = doubted(range, 1);
    return { text: threeDigits(value), unit, doubt, low: least, high: plain(high, 2) };
  }
  const per = perDensityUnit();
  const [least, most] = densityBounds(low ?? 0, high);
  const text = threeDigits(value / per);
  const doubt = doubted(range, per);
  return { text, unit: densityLabel(), doubt, low: low === null ? null : least, high: most };
}

/** Between what a figure lies, `per` to the unit in which it is told. */
function doubted({ low, high }: Ranged, per: number): string {
  return between(plain(low / per, 2), plain(high / per, 2));
}

function measure(one: Measure): TemplateResult {
  const { id, verdict } = one;
  const { text, unit, doubt, low, high } = inUnit(one);
  const usual = low === null ? say.load.upTo(high) : say.load.between(low, high);
  const judged = verdict === 'usual' ? usual : `${say.load.verdicts[verdict]}: ${usual}`;
  return fact(say.load.names[id], figure({ text, unit }), say.load.judged(doubt, judged));
}

function loadSources({ load, doubts }: LedgerView): unknown {
  if (doubts === null) return nothing;
  return html`<details>
    <summary>${say.load.sources}</summary>
    <ul class="sources">
      ${load?.measures.map(
        ({ id, source }) => html`<li>${say.load.names[id]}: ${pretty(source)}</li>`,
      )}
      <li>${say.load.volume}: ${pretty(doubts.volumeSource)}</li>
      <li>${say.load.anodeArea}: ${pretty(doubts.anodeAreaSource)}</li>
    </ul>
  </details>`;
}

export function loadSection(view: LedgerView): TemplateResult {
  const { load, doubts, volumeLitres, anodeAreaDm2 } = view;
  return titled(
    'load-title',
    say.load.title,
    html`<p class="aside">${load === null ? say.load.none : say.load.of(load.pieceName)}</p>
      <dl class="facts">
        ${load?.measures.map(measure)}
        ${
          volumeLitres === null
            ? nothing
            : fact(
                say.load.volume,
                figure({ text: plain(volumeLitres, 3), unit: 'L' }),
                doubts === null ? '' : doubted(doubts.volumeLitres, 1),
              )
        }
        ${
          anodeAreaDm2 === null
            ? nothing
            : fact(
                say.load.anodeArea,
                figure({ text: plain(anodeAreaDm2 / perAreaUnit(), 3), unit: areaLabel() }),
                doubts === null ? '' : doubted(doubts.anodeAreaDm2, perAreaUnit()),
              )
        }
      </dl>
      ${loadSources(view)}`,
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
    learned === null ? '' : say.efficiency.median(learned.count, `${percent(learned.spread)} %`);
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
