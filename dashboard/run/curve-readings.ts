/** The figures beside the curves of a run: at one reading, in one sentence, and as a table. */

import { html, nothing, type TemplateResult } from 'lit';
import { curves, resistanceOhms, type Columns, type Curve } from '../curves.ts';
import * as format from '../format.ts';
import { chartWords } from '#words/charts';

const tableRows = 16;

/** What a curve stands at, at one reading. */
export function valuesAt(curve: Curve, series: Columns, index: number): TemplateResult {
  const at = (column: readonly number[]): number => column[index] ?? Number.NaN;
  const set = format.amps(at(series.setAmps));
  const shown = {
    current: format.amps(at(series.amps)),
    voltage: format.volts(at(series.volts)),
    thickness: format.thickness(at(series.thicknessMicrometres)),
    charge: format.ampHours(at(series.ampHours)),
    resistance: format.ohms(resistanceOhms(at(series.volts), at(series.amps))),
  }[curve];
  return html`<span class="reading">${shown.text} ${shown.unit}</span> ${
      curve === 'current'
        ? html`<span class="aside reading">${chartWords.wanted(format.withUnit(set))}</span>`
        : nothing
    }`;
}

/** The whole of it in one sentence. */
export function summaryOf(series: Columns): string {
  const span = (low: readonly number[], high: readonly number[], unit: string): string => {
    const least = low.reduce((a, b) => Math.min(a, b), Infinity);
    const most = high.reduce((a, b) => Math.max(a, b), 0);
    return chartWords.between(
      format.threeDigits(least),
      format.withUnit({ text: format.threeDigits(most), unit }),
    );
  };
  const grown = format.thickness(series.thicknessMicrometres.at(-1) ?? 0);
  return chartWords.summary(
    span(series.minAmps, series.maxAmps, 'A'),
    span(series.minVolts, series.maxVolts, 'V'),
    format.withUnit(grown),
  );
}

/** Readings picked evenly from the whole run. */
export function readingsTable(series: Columns, startWallMs: number): TemplateResult {
  const last = series.atMs.length - 1;
  const count = Math.min(tableRows, last + 1);
  const rows = Array.from({ length: count }, (_, row) =>
    Math.round((row * last) / Math.max(1, count - 1)),
  );
  return html`<div class="wide-table" role="region" tabindex="0" aria-label=${chartWords.table}>
    <table>
      <thead>
        <tr>
          ${[chartWords.time, ...curves.map((curve) => chartWords[curve])].map(
            (title) => html`<th scope="col">${title}</th>`,
          )}
        </tr>
      </thead>
      <tbody>
        ${rows.map(
          (index) =>
            html`<tr>
              <th scope="row">${format.clock(startWallMs + (series.atMs[index] ?? 0))}</th>
              ${curves.map((curve) => html`<td>${valuesAt(curve, series, index)}</td>`)}
            </tr>`,
        )}
      </tbody>
    </table>
  </div>`;
}
