/** The Log page: every run, the latest first, each with its picture. */

import { html, nothing, type TemplateResult } from 'lit';
import type { RunSummary } from '../daemon/wire/run.ts';
import { ApiError, readList } from './api.ts';
import { figure, heading } from './element.ts';
import { LiveElement } from './live-element.ts';
import { ampHours, clock, day, duration, targetThickness, thickness } from './format.ts';
import { ringsFace } from './rings-picture.ts';
import { addresses } from './route.ts';
import { cabinet, withPlanRange } from './runs.ts';
import { words } from './words.ts';

const pageSize = 20;

export class LogPage extends LiveElement {
  static override properties = {
    runs: { state: true },
    error: { state: true },
    more: { state: true },
  };
  declare runs: readonly RunSummary[] | null;
  declare error: string;
  declare more: boolean;
  /** Runs that have come into sight; only theirs are fetched for a picture. */
  readonly #seen = new Set<string>();
  readonly #sight = new IntersectionObserver((entries) => {
    for (const { isIntersecting, target } of entries) {
      const id = (target as HTMLElement).dataset['run'];
      if (isIntersecting && id) this.#seen.add(id);
    }
    this.requestUpdate();
  });

  constructor() {
    super();
    this.runs = null;
    this.error = '';
    this.more = false;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    void this.#load();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#sight.disconnect();
  }

  async #load(): Promise<void> {
    const last = this.runs?.at(-1);
    const before = last ? `&before=${last.armedWallMs}` : '';
    try {
      const rows = await readList<RunSummary>(`/api/runs?limit=${pageSize}${before}`);
      this.runs = [...(this.runs ?? []), ...rows];
      this.more = rows.length === pageSize;
      this.error = '';
    } catch (error) {
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
  }

  override updated(): void {
    for (const row of this.querySelectorAll('[data-run]')) this.#sight.observe(row);
  }

  #picture(run: RunSummary): TemplateResult {
    const folder = this.#seen.has(run.id) ? cabinet.open(run.id) : null;
    const planned = folder?.record?.plan.thicknessMicrometres;
    const grown = planned && withPlanRange(run.thicknessMicrometres, planned);
    const input = grown ? folder?.rings(Infinity, grown) : null;
    return html`<div class="portrait small">
      ${input ? ringsFace(`log-${run.id}`, input) : html`<div class="blank"></div>`}
    </div>`;
  }

  #row(run: RunSummary): TemplateResult {
    const from = run.startedWallMs ?? run.armedWallMs;
    const charge = ampHours(run.ampHours);
    const probe = run.kind === 'probe';
    const told = run.outcome ? words.run.ended[run.outcome.end] : words.log.running;
    // A probe grows nothing: its finding is all there is to it.
    const end = probe ? (run.outcome?.reason ?? told) : told;
    return html`<li data-run=${run.id}>
      ${probe ? html`<div class="portrait small"></div>` : this.#picture(run)}
      <div class="says">
        <h2><a href=${addresses.replay(run.id)}>${run.pieceName}</a></h2>
        <p class="aside">
          ${day(from)},
          ${clock(from)}${
            run.endedWallMs === null || run.startedWallMs === null
              ? nothing
              : html`, ${duration(run.endedWallMs - run.startedWallMs)}`
          }
          · ${run.bathName} ${run.simulated ? html`· ${words.simulated}` : nothing}
        </p>
        <p class="result ${run.outcome?.end ?? 'running'}">${end}</p>
      </div>
      <p class="grown" ?hidden=${probe}>
        ${figure(thickness(run.thicknessMicrometres))}
        <span class="aside">
          ${words.log.of(targetThickness(run.targetMicrometres))}, ${charge.text} ${charge.unit}
        </span>
      </p>
    </li>`;
  }

  override render(): TemplateResult {
    const { runs } = this;
    return html`${heading(words.log.title)}
      <p class="error" role="alert">${this.error}</p>
      ${runs === null && this.error === '' ? html`<p>${words.loading}</p>` : nothing}
      ${runs?.length === 0 ? html`<p>${words.log.empty}</p>` : nothing}
      <ol class="log">
        ${runs?.map((run) => this.#row(run))}
      </ol>
      ${
        this.more || this.error !== ''
          ? html`<button type="button" @click=${() => void this.#load()}>
              ${this.error === '' ? words.log.older : words.again}
            </button>`
          : nothing
      }`;
  }
}

customElements.define('log-page', LogPage);
