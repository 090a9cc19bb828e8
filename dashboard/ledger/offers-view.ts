/** The two offers of a weigh-in as they stand on its page. */

import { html, nothing, type TemplateResult } from 'lit';
import type { WeighInView } from '../../daemon/wire/weigh-in.ts';
import { button } from '../element.ts';
import { plain } from '../format.ts';
import { percent, percentWith } from './figures.ts';
import {
  isOffered,
  offeredEfficiency,
  takeAreaFactor,
  takeEfficiency,
  type Taken,
} from './weigh-in-offers.ts';
import { ledgerWords, weighInWords as say } from '#words/ledger';

export interface Offers {
  readonly view: WeighInView;
  readonly taken: Partial<Record<'bath' | 'piece', Taken>>;
  /** Why nothing can be pressed; empty where it can. */
  readonly reason: string;
  readonly take: (which: 'bath' | 'piece', work: () => Promise<Taken>) => void;
  readonly undo: (which: 'bath' | 'piece') => void;
}

/** What was done on a press, with the way back beside it. */
function done({ taken, reason, undo }: Offers, which: 'bath' | 'piece'): unknown {
  const said = taken[which];
  if (said === undefined) return nothing;
  return html`<p role="status" class="told">${said.told}</p>
    ${said.undo === null ? nothing : button(say.undo, () => undo(which), { reason, id: `${which}-undo` })}`;
}

function inUse({ adoptedEfficiency, plannedEfficiency }: WeighInView) {
  return adoptedEfficiency ?? plannedEfficiency;
}

function bathOffer(offers: Offers): TemplateResult {
  const { view, reason, take, taken } = offers;
  const running = view.runningEfficiency;
  if (running === null) return html`<p class="aside">${say.noBath}</p>`;
  const { value, uncertainty } = offeredEfficiency(running);
  const range = `± ${percent(running.halfWidth)}`;
  const offer = percentWith(value, uncertainty);
  return html`<p>${say.bathNow(running.count, `${percent(running.value)} %`, range)}</p>
    <p class="aside">
      ${say.inUse(percentWith(inUse(view).value, inUse(view).uncertainty))}
      ${running.count < 3 ? ledgerWords.efficiency.few : nothing}
    </p>
    ${
      isOffered(running, view.plannedEfficiency.value)
        ? taken.bath?.undo
          ? nothing
          : button(
              ledgerWords.efficiency.take(offer),
              () => take('bath', () => takeEfficiency(view, running, inUse(view))),
              { reason, id: 'bath-why' },
            )
        : html`<p>${ledgerWords.efficiency.capped}</p>`
    }
    ${done(offers, 'bath')}`;
}

function pieceOffer(offers: Offers): TemplateResult {
  const { view, reason, take, taken } = offers;
  const running = view.runningAreaFactor;
  if (running === null) return html`<p class="aside">${say.noPiece}</p>`;
  const factor = plain(running.value, 3);
  const range = `± ${plain(running.halfWidth, 2)}`;
  const label = view.pieceRef === null ? say.pieceAdd(factor) : say.pieceTake(factor);
  return html`<p>${say.pieceNow(running.count, factor, range)}</p>
    ${
      view.plannedAreaFactor === 1
        ? nothing
        : html`<p class="aside">${say.pieceHas(plain(view.plannedAreaFactor, 3))}</p>`
    }
    ${
      taken.piece?.undo
        ? nothing
        : button(label, () => take('piece', () => takeAreaFactor(view, running)), {
            reason,
            id: 'piece-why',
          })
    }
    ${done(offers, 'piece')}`;
}

export function offersView(offers: Offers): TemplateResult {
  return html`<section class="offers" aria-labelledby="offers-title">
    <h2 id="offers-title">${say.offers}</h2>
    <p class="aside">${say.offersNote}</p>
    <h3>${say.bathTitle}</h3>
    ${bathOffer(offers)}
    <h3>${say.pieceTitle}</h3>
    ${pieceOffer(offers)}
  </section>`;
}
