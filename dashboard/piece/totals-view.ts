/** The live totals: each part, the whole, its range, the hangers' share, and what decides. */

import { html, type TemplateResult } from 'lit';
import { list, noFigure, range, threeDigits } from '../format.ts';
import { pieceWords } from '#words/piece';
import type { PieceForm } from './piece-form.ts';

const percent = (share: number): string =>
  share > 0 && share < 0.005 ? '< 1 %' : `${Math.round(share * 100)} %`;

/** cm2 in front, dm2 beside it. */
function area(mm2: number | null): TemplateResult {
  const cm2 = mm2 === null ? noFigure : threeDigits(mm2 / 100);
  const dm2 = mm2 === null ? noFigure : threeDigits(mm2 / 10_000);
  return html`<td class="figure">${cm2}<small> cm²</small></td>
    <td class="figure aside">${dm2} dm²</td>`;
}

export function totalsView({ draft, totals }: PieceForm): TemplateResult {
  const { whole } = totals;
  const text = pieceWords.totals;
  const share = (mm2: number | null): string =>
    whole && mm2 !== null ? percent(mm2 / whole.areaMm2) : noFigure;
  const between = whole
    ? list([
        range(threeDigits(whole.lowMm2 / 100), `${threeDigits(whole.highMm2 / 100)} cm²`),
        `± ${percent(whole.uncertainty)}`,
      ])
    : text.waiting;
  const decides = whole ? draft.parts[whole.decidingPart]?.label : noFigure;
  return html`<div class="totals">
    <h3 id="totals-title">${text.title}</h3>
    <table aria-labelledby="totals-title">
      <thead>
        <tr>
          <th scope="col">${text.part}</th>
          <th scope="col" colspan="2">${text.area}</th>
          <th scope="col">${text.share}</th>
        </tr>
      </thead>
      <tbody>
        ${draft.parts.map(
          (part) =>
            html`<tr>
              <th scope="row">
                ${part.count.trim() === '1' ? '' : `${part.count} × `}${part.label || part.kind}
              </th>
              ${area(totals.part(part.key)?.areaMm2 ?? null)}
              <td class="figure">${share(totals.part(part.key)?.areaMm2 ?? null)}</td>
            </tr>`,
        )}
      </tbody>
      <tfoot>
        <tr>
          <th scope="row">${text.whole}</th>
          ${area(whole?.areaMm2 ?? null)}
          <td></td>
        </tr>
      </tfoot>
    </table>
    <dl class="total-facts">
      <div>
        <dt>${text.range}</dt>
        <dd>${between}</dd>
      </div>
      <div>
        <dt>${text.hanger}</dt>
        <dd>${whole ? percent(whole.hanger) : noFigure}</dd>
      </div>
      <div>
        <dt>${text.decides}</dt>
        <dd>${decides} <span class="aside">${text.decidesHelp}</span></dd>
      </div>
    </dl>
  </div>`;
}
