/** Curves of a run on one time axis, with the plan behind them, events as marks, and a stretch to zoom into. */

import { html, nothing, type TemplateResult } from 'lit';
import uPlot from 'uplot';
import { PlotElement } from './plot-element.ts';
import * as format from './format.ts';
import { curveData, curveOptions, curves, timesOf, type Curve } from './curves.ts';
import type { RunTrack } from './run-track.ts';
import type { PlannedCourse } from '../daemon/wire/run-book.ts';
import { drawOverlay, markNear, type ChartMark } from './run/curve-overlay.ts';
import { readingsTable, summaryOf, valuesAt } from './run/curve-readings.ts';
import {
  following,
  moved,
  stretchText,
  zoomButtons,
  zoomed,
  type Course,
  type Zoom,
} from './run/zoom.ts';
import { told } from './units.ts';
import { chartWords } from '#words/charts';

/** Shortest time between two drawings, ms: numbers beside the curves are live, the lines may lag. */
const drawGapMs = 400;
/** A press that moved further than this drew over a stretch, CSS pixels. */
const stillPx = 6;

export class RunCharts extends PlotElement<Curve> {
  static override properties = {
    planned: { attribute: false },
    zoom: { state: true },
    told: { state: true },
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
  /** What a press came to, for who hears the page. */
  declare told: string;
  #index: number | null = null;
  /** The event that the reading line stands at. */
  #met: ChartMark | null = null;
  /** Where a reading line was left by keys or by a press, ms; Closer goes towards it. */
  #pinMs: number | null = null;
  #pressX = 0;
  #limit: ReturnType<typeof moved>['limit'] = '';
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
    this.told = '';
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

  #overlay(plot: uPlot): void {
    const { startWallMs, marks, playedMs } = this;
    drawOverlay(plot, this.palette, { startWallMs, marks, playedMs, pinMs: this.#pinMs });
  }

  #read(index: number | null): void {
    if (index === this.#index) return;
    this.#index = index;
    this.requestUpdate();
  }

  #meet(plot: uPlot): void {
    const { left = -1 } = plot.cursor;
    const placeOf = (atMs: number): number => plot.valToPos((this.startWallMs + atMs) / 1000, 'x');
    const met = left < 0 ? null : markNear(this.marks, left, placeOf);
    if (met?.atMs === this.#met?.atMs && met?.message === this.#met?.message) return;
    this.#met = met;
    this.requestUpdate();
  }

  #course(): Course {
    const { series, endMs } = this.track;
    const { startWallMs, targetMicrometres, planned, playedMs } = this;
    const times = timesOf({ series, startWallMs, targetMicrometres, planned });
    const anchorMs = this.#pinMs ?? playedMs;
    return { endMs, fullMs: times.at(-1) ?? endMs, anchorMs, live: playedMs === null };
  }

  #choose(zoom: Zoom, limit: ReturnType<typeof moved>['limit']): void {
    this.zoom = zoom;
    this.#limit = limit;
    if (zoom === null && limit === '') this.#pin(null);
    const shown = stretchText(zoom, this.startWallMs);
    this.told = limit === '' ? shown : `${shown} ${chartWords.limits[limit]}`;
    this.requestUpdate();
  }

  /** A stretch was drawn over with the pointer: it fills the width from now on. */
  #select(plot: uPlot): void {
    const { left, width } = plot.select;
    if (width < 4) return;
    plot.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
    const at = (x: number): number => plot.posToVal(x, 'x') * 1000 - this.startWallMs;
    this.#pinMs = null;
    this.#choose({ fromMs: at(left), toMs: at(left + width) }, '');
  }

  /** A press on the curves that is no drag leaves the reading line where it was. */
  #press(event: MouseEvent): void {
    const { series } = this.track;
    if (Math.abs(event.clientX - this.#pressX) > stillPx || this.#index === null) return;
    this.#pin(series.atMs[this.#index] ?? this.track.endMs);
  }

  #pin(atMs: number | null): void {
    this.#pinMs = atMs;
    for (const plot of this.plots.values()) plot.redraw(false);
  }

  #draw(): void {
    for (const curve of curves) {
      const holder = this.holder(curve);
      const plot = this.plots.get(curve);
      const { series } = this.track;
      const { startWallMs, targetMicrometres, planned } = this;
      const data = curveData(curve, { series, startWallMs, targetMicrometres, planned });
      // At once, so that the reading line can be put where its moment now stands.
      if (plot) plot.batch(() => plot.setData(data));
      else if (holder && holder.clientWidth > 0) {
        const hooks = {
          draw: [(drawn: uPlot) => this.#overlay(drawn)],
          setCursor: [
            (drawn: uPlot) => {
              this.#read(drawn.cursor.idx ?? null);
              this.#meet(drawn);
            },
          ],
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
    if (changed.get('startWallMs')) this.#beginAnew();
    const wasMs = changed.get('playedMs');
    if (typeof wasMs !== 'number' || this.playedMs === null) return;
    // The replay went on, and what it stands at is looked at from now on.
    this.#pinMs = null;
    this.zoom = following(this.zoom, wasMs, this.playedMs, this.#course());
  }

  /** Another run in the same place: nothing of what was looked at in the last one is meant of it. */
  #beginAnew(): void {
    this.zoom = null;
    [this.#pinMs, this.#index, this.#met, this.#limit] = [null, null, null, ''];
    this.told = '';
  }

  override updated(changed: Map<string, unknown>): void {
    if (this.track.length === 0) return;
    if (changed.has('zoom')) {
      this.#draw();
      if (this.#pinMs !== null) this.#toLine(this.track.indexAt(this.#pinMs));
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

  /** Puts the reading line of all curves to one reading. */
  #toLine(index: number): void {
    for (const plot of this.plots.values()) {
      const left = plot.valToPos(plot.data[0][index] ?? 0, 'x');
      plot.setCursor({ left, top: 10 });
    }
    this.#read(index);
  }

  /** Left and right move the reading line, as the pointer does; plus and minus show more or less. */
  #key(event: KeyboardEvent): void {
    if (this.track.length === 0 || event.ctrlKey || event.metaKey || event.altKey) return;
    const move = { '+': 'closer', '=': 'closer', '-': 'wider' }[event.key];
    const step = { ArrowLeft: -1, ArrowRight: 1, PageUp: -20, PageDown: 20 }[event.key];
    if (move === 'closer' || move === 'wider') {
      const next = moved(this.zoom, move, this.#course());
      this.#choose(next.zoom, next.limit);
    } else if (step !== undefined) this.#step(step);
    else return;
    event.preventDefault();
  }

  /** A step of the line is the same width on the page however close one looks; the view goes along. */
  #step(steps: number): void {
    const { track } = this;
    const [from, to] = zoomed(this.zoom, 0, track.endMs) ?? [0, track.endMs / 1000];
    const first = Math.max(0, track.indexAt(from * 1000));
    const end = track.indexAt(to * 1000);
    const stride = Math.max(1, Math.round((end - first) / 200));
    const start = Math.min(end, Math.max(first, this.#index ?? this.#shownIndex()));
    const index = Math.min(track.length - 1, Math.max(0, start + steps * stride));
    const wasMs = track.series.atMs[start] ?? 0;
    const isMs = track.series.atMs[index] ?? 0;
    this.#pin(isMs);
    this.zoom = following(this.zoom, wasMs, isMs, this.#course());
    this.#toLine(index);
  }

  #shownIndex(): number {
    const last = this.track.length - 1;
    if (this.#index !== null) return Math.min(this.#index, last);
    return this.playedMs === null ? last : Math.max(0, this.track.indexAt(this.playedMs));
  }

  override render(): TemplateResult {
    const { series } = this.track;
    const empty = this.track.length === 0;
    const index = this.#shownIndex();
    const at = this.startWallMs + (series.atMs[index] ?? 0);
    const summary = empty ? chartWords.empty : summaryOf(series);
    const met = this.#met;
    return html`<p class="aside ${empty ? '' : 'reading-line'}">
        <span class="reading-time">${empty ? summary : format.clockSeconds(at)}</span>
        ${met ? html`<span class="met">${met.note ? met.message : told(met.message)}</span>` : nothing}
      </p>
      <div
        class="plots"
        role="img"
        tabindex="0"
        aria-label="${summary} ${chartWords.keys}"
        ?hidden=${empty}
        @keydown=${(event: KeyboardEvent) => this.#key(event)}
        @pointerdown=${(event: PointerEvent) => (this.#pressX = event.clientX)}
        @click=${(event: MouseEvent) => this.#press(event)}
      >
        ${curves.map(
          (curve) =>
            html`<div class="curve">
              <p class="curve-title">
                <span>${chartWords[curve]}</span> ${valuesAt(curve, series, index)}
              </p>
              <div data-curve=${curve}></div>
            </div>`,
        )}
      </div>
      ${zoomButtons({
        hidden: empty,
        zoom: this.zoom,
        course: this.#course(),
        startWallMs: this.startWallMs,
        limit: this.#limit,
        choose: (zoom, limit) => this.#choose(zoom, limit),
      })}
      <p class="unseen" role="status">${this.told}</p>
      <p class="aside" ?hidden=${empty}>${summary} ${this.planned ? chartWords.plan : nothing}</p>
      <details
        ?hidden=${empty}
        @toggle=${(event: Event) => {
          this.#tableOpen = (event.target as HTMLDetailsElement).open;
          this.requestUpdate();
        }}
      >
        <summary>${chartWords.table}</summary>
        ${this.#tableOpen ? readingsTable(series, this.startWallMs) : nothing}
      </details>`;
  }
}

customElements.define('run-charts', RunCharts);
