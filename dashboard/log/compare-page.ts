/** Up to four runs beside each other on one axis, told apart by letter and line pattern. */

import { html, svg, type TemplateResult } from 'lit';
import type { RunRecord, Series } from '../../daemon/wire/run.ts';
import { ApiError, read } from '../api.ts';
import { heading, NightElement } from '../element.ts';
import * as format from '../format.ts';
import { addresses } from '../route.ts';
import { plannedDensityText } from '../units.ts';
import { words } from '#words/common';
import { axes, axisOf, letters, patterns, type Axis } from './compare-axes.ts';
import { emptySearch, logAddress, mostCompared, readPicked } from './log-address.ts';
import { logWords } from '#words/log';
import { compareWords } from '#words/compare';

const buckets = 600;

/** One run that was asked for: what is known of it, or why it is left out. */
interface Seat {
  readonly id: string;
  readonly record: RunRecord | null;
  readonly series: Series | null;
  readonly error: string;
}

async function seatOf(id: string): Promise<Seat> {
  try {
    const path = `/api/runs/${id}`;
    const [record, series] = await Promise.all([
      read<RunRecord>(path),
      read<Series>(`${path}/series?buckets=${buckets}`),
    ]);
    return { id, record, series, error: '' };
  } catch (error) {
    const why = error instanceof ApiError ? error.message : words.failed;
    return { id, record: null, series: null, error: why };
  }
}

export class ComparePage extends NightElement {
  static override properties = {
    query: { attribute: false },
    seats: { state: true },
    axis: { state: true },
  };
  /** What stands behind the path in the address. */
  declare query: string;
  declare seats: readonly Seat[] | null;
  declare axis: Axis;
  #ids: readonly string[] | null = [];
  #problem = '';

  constructor() {
    super();
    this.query = '';
    this.seats = null;
    this.axis = 'time';
  }

  override connectedCallback(): void {
    super.connectedCallback();
    void import('./compare-charts.ts');
  }

  override willUpdate(changed: Map<string, unknown>): void {
    if (!changed.has('query')) return;
    const asked = new URLSearchParams(this.query);
    const runs = asked.get('runs') ?? '';
    const axis = asked.get('axis');
    this.axis = axisOf(axis);
    this.#problem =
      axis === null || axis === this.axis ? '' : compareWords.unknownAxis(axis.slice(0, 40));
    const ids = runs === '' ? [] : readPicked(runs);
    if (ids === null) this.#problem = compareWords.badAddress(mostCompared);
    this.#ids = ids;
    void this.#load(ids ?? []);
  }

  async #load(ids: readonly string[]): Promise<void> {
    this.seats = null;
    const seats = await Promise.all(ids.map(seatOf));
    if (ids === (this.#ids ?? [])) this.seats = seats;
  }

  #lay(axis: Axis): void {
    this.axis = axis;
    history.replaceState(null, '', addresses.compare(this.#ids ?? [], axis));
  }

  #chooser(): TemplateResult {
    return html`<fieldset class="axis">
      <legend>${compareWords.axis}</legend>
      ${axes.map(
        (axis) =>
          html`<label>
            <input
              type="radio"
              name="axis"
              value=${axis}
              .checked=${axis === this.axis}
              @change=${() => this.#lay(axis)}
            />
            <span>${compareWords.axes[axis]}</span>
          </label>`,
      )}
    </fieldset>`;
  }

  #seat(record: RunRecord, hasCurve: boolean, index: number): TemplateResult {
    const { plan } = record;
    const from = record.startedWallMs ?? record.armedWallMs;
    const lasted = (record.endedWallMs ?? Date.now()) - from;
    const charge = format.ampHours(record.ampHours);
    const grown = format.thickness(record.thicknessMicrometres);
    const pattern = (patterns[index] ?? []).join(' ');
    const name = compareWords.line(letters[index] ?? '', compareWords.lines[index] ?? '');
    const result = record.outcome ? words.run.ended[record.outcome.end] : logWords.running;
    return html`<li>
      <p class="seat">
        <b aria-hidden="true">${letters[index]}</b>
        <svg viewBox="0 0 72 8" role="img" aria-label=${name}>
          ${svg`<line x1="0" x2="72" y1="4" y2="4" stroke-dasharray=${pattern} />`}
        </svg>
      </p>
      <h2><a href=${addresses.replay(record.id)}>${plan.request.piece.name}</a></h2>
      <p class="aside">${format.dayAndTime(from)} · ${plan.bath.name}</p>
      <p class="result ${record.outcome?.end ?? 'running'}">
        ${hasCurve ? result : compareWords.noCurve}
      </p>
      <p class="aside">
        ${compareWords.facts(
          format.withUnit(grown),
          format.targetThickness(plan.thicknessMicrometres.value),
          format.withUnit(charge),
          record.startedWallMs === null ? '' : format.duration(lasted),
          plannedDensityText(plan.request.densityAmpsPerDm2),
        )}
      </p>
    </li>`;
  }

  #body(seats: readonly Seat[]): TemplateResult {
    const here = seats.flatMap(({ record, series }) =>
      record === null || series === null ? [] : [{ record, series }],
    );
    const advice =
      here.length === 0 ? compareWords.none : here.length === 1 ? compareWords.few : '';
    return html`${seats
        .filter(({ error }) => error !== '')
        .map(
          ({ id, error }) =>
            html`<p class="problem" role="alert">${compareWords.leftOut(id, error)}</p>`,
        )}
      <p ?hidden=${advice === ''}>${advice}</p>
      <ol class="seats">
        ${here.map(({ record, series }, index) =>
          this.#seat(record, series.atMs.length > 0, index),
        )}
      </ol>
      ${
        here.length === 0
          ? ''
          : html`${this.#chooser()}
              <compare-charts
                .runs=${here.map(({ series }) => series)}
                .axis=${this.axis}
              ></compare-charts>`
      }`;
  }

  override render(): TemplateResult {
    const { seats } = this;
    const back = logAddress({ ...emptySearch, picked: this.#ids ?? [] });
    return html`${heading(compareWords.title)}
      <p class="problem" role="alert">${this.#problem}</p>
      ${seats === null ? html`<p>${words.loading}</p>` : this.#body(seats)}
      <p class="actions" ?hidden=${seats === null}>
        <a class="press-link" href=${back}>${compareWords.choose}</a>
      </p>`;
  }
}

customElements.define('compare-page', ComparePage);
