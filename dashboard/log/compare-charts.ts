/** Curves of up to four runs over one axis, with the values under the reading line. */

import { html, nothing, type TemplateResult } from 'lit';
import uPlot from 'uplot';
import type { Series } from '../../daemon/wire/run.ts';
import { PlotElement } from '../plot-element.ts';
import * as format from '../format.ts';
import {
  gridOf,
  lastOf,
  letters,
  quantitiesOver,
  sampled,
  type Axis,
  type Quantity,
} from './compare-axes.ts';
import { compareOptions } from './compare-plots.ts';
import { compareWords } from '#words/compare';

const places = 600;
const tableRows = 12;
const heights: Readonly<Record<Quantity, number>> = {
  thickness: 190,
  charge: 190,
  current: 140,
  voltage: 140,
};

type Column = readonly (number | null)[];

interface Sheet {
  readonly axis: Axis;
  readonly grid: readonly number[];
  readonly columns: ReadonlyMap<Quantity, readonly Column[]>;
}

const shownValue: Readonly<Record<Quantity, (value: number) => format.Figure>> = {
  thickness: format.thickness,
  charge: format.ampHours,
  current: format.amps,
  voltage: format.volts,
};

function text(quantity: Quantity, value: number | null | undefined): string {
  if (value === null || value === undefined) return format.noFigure;
  return format.withUnit(shownValue[quantity](value));
}

/** A place on the axis in words: "3 h 20 min", "0.85 A·h", "42 µm". */
function placeText(axis: Axis, at: number): string {
  if (axis === 'time') return format.duration(at * 3_600_000);
  return text(axis, at);
}

export class CompareCharts extends PlotElement<Quantity> {
  static override properties = { runs: { attribute: false }, axis: { attribute: false } };
  declare runs: readonly Series[];
  declare axis: Axis;
  #sheet: Sheet = { axis: 'time', grid: [], columns: new Map() };
  #index: number | null = null;

  constructor() {
    super();
    this.runs = [];
    this.axis = 'time';
  }

  protected override holder(quantity: Quantity): HTMLElement | null {
    return this.querySelector(`[data-quantity=${quantity}]`);
  }

  override willUpdate(changed: Map<string, unknown>): void {
    if (!changed.has('runs') && !changed.has('axis')) return;
    const { runs, axis } = this;
    const grid = gridOf(runs, axis, places);
    const columns = quantitiesOver[axis].map(
      (quantity) =>
        [quantity, runs.map((series) => sampled(series, axis, quantity, grid))] as const,
    );
    this.#sheet = { axis, grid, columns: new Map(columns) };
    this.#index = null;
    this.clear();
  }

  override updated(): void {
    const { grid, columns, axis } = this.#sheet;
    if (grid.length === 0) return;
    const last = quantitiesOver[axis].at(-1);
    for (const [quantity, lines] of columns) {
      const holder = this.holder(quantity);
      const width = holder?.clientWidth ?? 0;
      if (holder === null || width === 0 || this.plots.has(quantity)) continue;
      const isLast = quantity === last;
      const look = {
        width,
        height: heights[quantity] + (isLast ? 20 : 0),
        axis,
        last: isLast,
        runs: lines.length,
      };
      const options = compareOptions(look, this.palette, (index) => this.#read(index));
      const data: uPlot.AlignedData = [[...grid], ...lines.map((line) => [...line])];
      this.plots.set(quantity, new uPlot(options, data, holder));
    }
  }

  #read(index: number | null): void {
    if (index === this.#index) return;
    this.#index = index;
    this.requestUpdate();
  }

  /** Left and right move the reading line, as the pointer does. */
  #key(event: KeyboardEvent): void {
    const step = { ArrowLeft: -3, ArrowRight: 3, PageUp: -60, PageDown: 60 }[event.key];
    const last = this.#sheet.grid.length - 1;
    if (step === undefined || last < 0) return;
    event.preventDefault();
    const index = Math.min(last, Math.max(0, (this.#index ?? last) + step));
    for (const plot of this.plots.values()) {
      plot.setCursor({ left: plot.valToPos(this.#sheet.grid[index] ?? 0, 'x'), top: 10 });
    }
    this.#read(index);
  }

  /** At the reading line, or else where each run ended. */
  #reading(quantity: Quantity): TemplateResult[] {
    const index = this.#index;
    return (this.#sheet.columns.get(quantity) ?? []).map((line, run) => {
      const series = this.runs[run];
      const value = index !== null ? line[index] : series && lastOf(series, quantity);
      return html`<span class="reading"><b>${letters[run]}</b> ${text(quantity, value)}</span>`;
    });
  }

  #table(quantity: Quantity): TemplateResult {
    const { grid, columns, axis } = this.#sheet;
    const lines = columns.get(quantity) ?? [];
    const rows = Array.from({ length: tableRows }, (_, row) =>
      Math.round((row * (grid.length - 1)) / (tableRows - 1)),
    );
    return html`<table>
      <caption>
        ${compareWords.quantities[quantity]}
      </caption>
      <thead>
        <tr>
          <th scope="col">${compareWords.axes[axis]}</th>
          ${lines.map((_, run) => html`<th scope="col">${letters[run]}</th>`)}
        </tr>
      </thead>
      <tbody>
        ${rows.map(
          (index) =>
            html`<tr>
              <th scope="row">${placeText(axis, grid[index] ?? 0)}</th>
              ${lines.map((line) => html`<td>${text(quantity, line[index])}</td>`)}
            </tr>`,
        )}
      </tbody>
    </table>`;
  }

  override render(): TemplateResult {
    const { grid, axis } = this.#sheet;
    if (grid.length === 0) return html`<p>${compareWords.nothing}</p>`;
    const quantities = quantitiesOver[axis];
    const index = this.#index;
    const at =
      index === null ? compareWords.atEnds : compareWords.at(placeText(axis, grid[index] ?? 0));
    return html`<p class="aside reading-time">${at}</p>
      <div
        class="plots"
        role="img"
        tabindex="0"
        aria-label=${compareWords.picture(compareWords.axes[axis], this.runs.length)}
        @keydown=${(event: KeyboardEvent) => this.#key(event)}
      >
        ${quantities.map(
          (quantity) =>
            html`<div class="curve">
              <p class="curve-title">
                <span>${compareWords.quantities[quantity]}</span> ${this.#reading(quantity)}
              </p>
              <div data-quantity=${quantity}></div>
            </div>`,
        )}
        <p class="aside axis-title">${compareWords.along[axis]}</p>
      </div>
      <details>
        <summary>${compareWords.table}</summary>
        ${grid.length === 0 ? nothing : quantities.map((quantity) => this.#table(quantity))}
      </details>`;
  }
}

customElements.define('compare-charts', CompareCharts);
