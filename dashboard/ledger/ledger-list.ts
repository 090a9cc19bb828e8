/** All ledgers, a line each with what is due, and the head of one. */

import { html, nothing, type TemplateResult } from 'lit';
import type { LedgerLine, LedgerView } from '../../daemon/wire/ledger.ts';
import { addresses } from '../route.ts';
import { words } from '#words/common';
import { chargeText } from './figures.ts';
import { ledgerWords as say } from '#words/ledger';

type Placed = Pick<LedgerView, 'tankName' | 'tankId' | 'current' | 'runs' | 'ampHours'>;

function whereabouts({ tankName, tankId, current, runs, ampHours }: Placed): string {
  const tank = say.inTank(tankName ?? tankId);
  const past = `${say.runs(runs)}, ${chargeText(ampHours)}`;
  const now = tankName === null ? ` ${say.gone}` : current ? '' : ` ${say.notCurrent}`;
  return `${tank} · ${past}.${now}`;
}

function line(one: LedgerLine): TemplateResult {
  const { tankId, bathId, bathName, due } = one;
  return html`<li>
    <h2><a href=${addresses.ledgerOf(tankId, bathId)}>${bathName ?? bathId}</a></h2>
    <p class="aside">${whereabouts(one)}</p>
    ${
      due.length === 0
        ? html`<p class="aside">${one.current ? say.nothingDue : nothing}</p>`
        : html`<ul class="due-list">
            ${due.map((sentence) => html`<li>${sentence}</li>`)}
          </ul>`
    }
  </li>`;
}

export function ledgerList(lines: readonly LedgerLine[]): TemplateResult {
  if (lines.length === 0) return html`<p>${say.none}</p>`;
  return html`<ul class="ledgers">
    ${lines.map(line)}
  </ul>`;
}

export function ledgerHead(view: LedgerView): TemplateResult {
  return html`<p class="aside">${whereabouts(view)}</p>
    ${view.simulated ? html`<p class="simulated">${words.simulated}</p>` : nothing}`;
}
