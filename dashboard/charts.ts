/** Curves of a run on one time axis, with the plan behind them, events as marks, and a stretch to zoom into. */

import { html, nothing, type TemplateResult } from 'lit';
import uPlot from 'uplot';
import { PlotElement } from './plot-element.ts';
import * as format from './format.ts';
import {
  curveData,
  curveOptions,
  curves,
  resistanceOhms,
  type Columns,
  type Curve,
} from './curves.ts';
import type { RunTrack } from './run-track.ts';
import type { PlannedCourse } from '../daemon/wire/run-book.ts';
import { zoomButtons, zoomed, type Zoom } from './run/zoom.ts';
import { chartWords } from '#words/charts';

/** An event on the time axis, ms from the start of the run. */
export interface ChartMark {
  readonly atMs: number;
  readonly grave: boolean;
  /** A note or a photo. */
  readonly note?: boolean;
}

/** Shortest time between two drawings, ms: numbers beside the curves are live, the lines may lag. */
const drawGapMs = 400;
const tableRows = 16;

export class RunCharts extends PlotElement<Curve> {
  static override properties = {
    planned: { attribute: false },
    zoom: { state: true },
    track: { attribute: false },
    changes: { attribute: false },
    startWallMs: { attribute: false },
    targetMicrometres: { attribute: false },
    marks: { attribute: false },
    playedMs: { attribute: false },
  };
  declare track: RunTrack;
  /** The track's count of changes; a new one draws anew. */
  declare changes: number;
  declare startWallMs: number;
  declare targetMicrometres: number;
  declare marks: readonly ChartMark[];
  /** In a replay, the moment it stands at; what comes after is veiled. Null when live. */
  declare playedMs: number | null;
  /** What the plan foresees; null where that is not to be shown. */
  declare planned: PlannedCourse | null;
  /** Null is the whole run. */
  declare zoom: Zoom;
  #index: number | null = null;
  #drawnMs = -Infinity;
  #drawnChanges = -1;
  #timer = 0;
  #tableOpen = false;

  constructor() {
    super();
    this.marks = [];
    this.playedMs = null;
    this.planned = null;
    this.zoom = null;
    this.changes = 0;
    this.startWallMs = 0;
    this.targetMicrometres = 0;
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearTimeout(this.#timer);
  }

  protected override holder(curve: Curve): HTMLElement | null {
    return this.querySelector(`[data-curve=${curve}]`);
  }

  /** Event marks, and in a replay the veil over what has not come yet. */
  #overlay(plot: uPlot): void {
    const { ctx, bbox } = plot;
    const x = (atMs: number): number => plot.valToPos((this.startWallMs + atMs) / 1000, 'x', true);
    ctx.save();
    if (this.playedMs !== null) {
      const from = Math.max(bbox.left, x(this.playedMs));
      ctx.globalAlpha = 0.72;
      ctx.fillStyle = this.palette.of('ground')();
      ctx.fillRect(from, bbox.top, bbox.left + bbox.width - from, bbox.height);
      ctx.globalAlpha = 1;
      ctx.fillStyle = this.palette.of('text')();
      ctx.fillRect(from, bbox.top, devicePixelRatio, bbox.height);
    }
    for (const { atMs, grave, note = false } of this.marks) {
      const middle = x(atMs);
      // In a stretch that is zoomed into, the others lie outside.
      if (middle < bbox.left || middle > bbox.left + bbox.width) continue;
      ctx.fillStyle = this.palette.of(grave ? 'stop' : 'quiet')();
      const size = (grave ? 7 : 4) * devicePixelRatio;
      ctx.fillRect(middle - devicePixelRatio / 2, bbox.top, devicePixelRatio, size * 2);
      if (grave) ctx.fillRect(middle - size / 2, bbox.top, size, size);
      if (note) {
        ctx.beginPath();
        ctx.arc(middle, bbox.top + size, size * 0.9, 0, 2 * Math.PI);
        ctx.fill();
      }
    }
    ctx.restore();
  }

  #read(index: number | null): void {
    if (index === this.#index) return;
    this.#index = index;
    this.requestUpdate();
  }

  /** A stretch was drawn over with the pointer: it fills the width from now on. */
  #select(plot: uPlot): void {
    const { left, width } = plot.select;
    if (width < 4) return;
    plot.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
    const at = (x: number): number => plot.posToVal(x, 'x') * 1000 - this.startWallMs;
    this.zoom = { fromMs: at(left), toMs: at(left + width) };
  }

  #draw(): void {
    for (const curve of curves) {
      const holder = this.holder(curve);
      const plot = this.plots.get(curve);
      const { series } = this.track;
      const { startWallMs, targetMicrometres, planned } = this;
      const data = curveData(curve, { series, startWallMs, targetMicrometres, planned });
      if (plot) plot.setData(data);
      else if (holder && holder.clientWidth > 0) {
        const hooks = {
          draw: [(drawn: uPlot) => this.#overlay(drawn)],
          setCursor: [(moved: uPlot) => this.#read(moved.cursor.idx ?? null)],
          setSelect: [(drawn: uPlot) => this.#select(drawn)],
        };
        const inView = (): readonly [number, number] | null =>
          zoomed(this.zoom, this.startWallMs, this.track.endMs);
        const options = curveOptions(curve, holder.clientWidth, this.palette, hooks, inView);
        this.plots.set(curve, new uPlot(options, data, holder));
      }
    }
    this.#drawnMs = performance.now();
    this.#drawnChanges = this.changes;
  }

  override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('planned')) this.#drawnChanges = -1;
  }

  override updated(changed: Map<string, unknown>): void {
    if (this.track.length === 0) return;
    if (changed.has('zoom')) {
      this.#draw();
      return;
    }
    if (changed.has('track') || this.plots.size < curves.length) this.#draw();
    else if (this.changes !== this.#drawnChanges) {
      clearTimeout(this.#timer);
      const wait = this.#drawnMs + drawGapMs - performance.now();
      if (wait <= 0) this.#draw();
      else this.#timer = window.setTimeout(() => this.#draw(), wait);
    } else if (changed.has('playedMs') || changed.has('marks')) {
      for (const plot of this.plots.values()) plot.redraw(false);
    }
  }

  /** Left and right move the reading line, as the pointer does. */
  #key(event: KeyboardEvent): void {
    const step = { ArrowLeft: -1, ArrowRight: 1, PageUp: -20, PageDown: 20 }[event.key];
    if (step === undefined || this.track.length === 0) return;
    event.preventDefault();
    const last = this.track.length - 1;
    const stride = Math.max(1, Math.round(last / 200));
    const index = Math.min(last, Math.max(0, (this.#index ?? last) + step * stride));
    for (const plot of this.plots.values()) {
      const left = plot.valToPos(plot.data[0][index] ?? 0, 'x');
      plot.setCursor({ left, top: 10 });
    }
    this.#read(index);
  }

  #shownIndex(): number {
    const last = this.track.length - 1;
    if (this.#index !== null) return Math.min(this.#index, last);
    return this.playedMs === null ? last : Math.max(0, this.track.indexAt(this.playedMs));
  }

  #values(curve: Curve, series: Columns, index: number): TemplateResult {
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

  #summary(series: Columns): string {
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

  #table(series: Columns): TemplateResult {
    const last = this.track.length - 1;
    const rows = Array.from({ length: Math.min(tableRows, last + 1) }, (_, row) =>
      Math.round((row * last) / Math.max(1, Math.min(tableRows, last + 1) - 1)),
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
                <th scope="row">${format.clock(this.startWallMs + (series.atMs[index] ?? 0))}</th>
                ${curves.map((curve) => html`<td>${this.#values(curve, series, index)}</td>`)}
              </tr>`,
          )}
        </tbody>
      </table>
    </div>`;
  }

  override render(): TemplateResult {
    const { series } = this.track;
    const empty = this.track.length === 0;
    const index = this.#shownIndex();
    const at = this.startWallMs + (series.atMs[index] ?? 0);
    const summary = empty ? chartWords.empty : this.#summary(series);
    return html`<p class="aside reading-time">${empty ? summary : format.clockSeconds(at)}</p>
      <div
        class="plots"
        role="img"
        tabindex="0"
        aria-label="${summary} ${chartWords.keys}"
        ?hidden=${empty}
        @keydown=${(event: KeyboardEvent) => this.#key(event)}
      >
        ${curves.map(
          (curve) =>
            html`<div class="curve">
              <p class="curve-title">
                <span>${chartWords[curve]}</span> ${this.#values(curve, series, index)}
              </p>
              <div data-curve=${curve}></div>
            </div>`,
        )}
      </div>
      ${zoomButtons(empty, this.zoom, this.track.endMs, (zoom) => (this.zoom = zoom))}
      <p class="aside" ?hidden=${empty}>${summary} ${this.planned ? chartWords.plan : nothing}</p>
      <details
        ?hidden=${empty}
        @toggle=${(event: Event) => {
          this.#tableOpen = (event.target as HTMLDetailsElement).open;
          this.requestUpdate();
        }}
      >
        <summary>${chartWords.table}</summary>
        ${this.#tableOpen ? this.#table(series) : nothing}
      </details>`;
  }
}

customElements.define('run-charts', RunCharts);
