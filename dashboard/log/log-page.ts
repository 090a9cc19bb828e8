/** The Log page: runs that were searched for, a line each, and those chosen to be compared. */

import { html, nothing, type TemplateResult } from 'lit';
import type { LogPage as Found, Portrait } from '../../daemon/wire/log.ts';
import type { RunSummary } from '../../daemon/wire/run.ts';
import { ApiError } from '../api.ts';
import { connection } from '../connection.ts';
import { figure, heading, NightElement } from '../element.ts';
import { ampHours, dayAndTime, duration, targetThickness, thickness, withUnit } from '../format.ts';
import { ringsFace } from '../rings-picture.ts';
import { addresses } from '../route.ts';
import { words } from '#words/common';
import {
  emptySearch,
  logAddress,
  mostCompared,
  pageSize,
  searchOf,
  type AddressProblem,
  type LogSearch,
} from './log-address.ts';
import { readLogPage, readPortrait } from './log-api.ts';
import { searchForm } from './search-form.ts';
import { thumbnail } from './thumbnail.ts';
import { logWords } from '#words/log';

/** After the last letter, and after something happened at the bench, ms. */
const typingMs = 350;
const newsMs = 1000;
/** Pictures are fetched this far before they come into sight. */
const ahead = '600px';

export class LogPage extends NightElement {
  static override properties = {
    found: { state: true },
    error: { state: true },
    search: { state: true },
  };
  declare found: Found | null;
  declare error: string;
  declare search: LogSearch;
  #problems: readonly AddressProblem[] = [];
  readonly #portraits = new Map<string, Portrait>();
  readonly #asked = new Set<string>();
  #loads = 0;
  #typing = 0;
  #news = 0;
  #unlisten: (() => void) | null = null;
  readonly #sight = new IntersectionObserver(
    (entries) => {
      for (const { isIntersecting, target } of entries) {
        const id = (target as HTMLElement).dataset['run'];
        if (isIntersecting && id) void this.#fetch(id);
      }
    },
    { rootMargin: ahead },
  );
  readonly #moved = (): void => this.#readAddress();

  constructor() {
    super();
    this.found = null;
    this.error = '';
    this.search = emptySearch;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    addEventListener('popstate', this.#moved);
    const soon = (): void => {
      clearTimeout(this.#news);
      this.#news = window.setTimeout(() => void this.#load(), newsMs);
    };
    this.#unlisten = connection.listen({ event: soon, bench: soon });
    this.#readAddress();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    removeEventListener('popstate', this.#moved);
    this.#unlisten?.();
    this.#sight.disconnect();
    clearTimeout(this.#typing);
    clearTimeout(this.#news);
  }

  #readAddress(): void {
    // On its way to another page the address is no longer the log's.
    if (location.pathname !== addresses.log) return;
    const { search, problems } = searchOf(location.search);
    this.search = search;
    this.#problems = problems;
    void this.#load();
  }

  /** Keeps a search in the address, as a step of its own or in the place of this one. */
  #go(wanted: LogSearch, step: boolean): void {
    const { search, problems } = searchOf(logAddress(wanted).slice(addresses.log.length));
    this.search = search;
    this.#problems = problems;
    if (step) history.pushState(null, '', logAddress(search));
    else history.replaceState(null, '', logAddress(search));
  }

  async #load(): Promise<void> {
    this.#loads += 1;
    const load = this.#loads;
    try {
      const found = await readLogPage(this.search);
      if (load !== this.#loads) return;
      // What is not over yet has grown since.
      for (const { id, outcome } of found.runs) if (outcome === null) this.#asked.delete(id);
      this.found = found;
      this.error = '';
    } catch (error) {
      if (load !== this.#loads) return;
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
  }

  async #fetch(id: string): Promise<void> {
    const run = this.found?.runs.find((one) => one.id === id);
    if (run === undefined || run.kind === 'probe' || this.#asked.has(id)) return;
    this.#asked.add(id);
    try {
      this.#portraits.set(id, await readPortrait(id));
      this.requestUpdate();
    } catch {
      // A line without its picture still says everything in words.
      this.#asked.delete(id);
    }
  }

  override updated(changed: Map<string, unknown>): void {
    if (!changed.has('found')) return;
    this.#sight.disconnect();
    for (const row of this.querySelectorAll('[data-run]')) this.#sight.observe(row);
  }

  #change(part: Partial<LogSearch>, typed: boolean): void {
    this.#go({ ...this.search, ...part, page: 1 }, !typed);
    clearTimeout(this.#typing);
    this.#typing = window.setTimeout(() => void this.#load(), typed ? typingMs : 0);
  }

  #pick(id: string, picked: boolean): void {
    const others = this.search.picked.filter((one) => one !== id);
    this.#go({ ...this.search, picked: picked ? [...others, id] : others }, false);
  }

  #row(run: RunSummary): TemplateResult {
    const from = run.startedWallMs ?? run.armedWallMs;
    const charge = ampHours(run.ampHours);
    const probe = run.kind === 'probe';
    const portrait = this.#portraits.get(run.id);
    const told = run.outcome ? words.run.ended[run.outcome.end] : logWords.running;
    // A probe grows nothing: its finding is all there is to it.
    const end = probe ? (run.outcome?.reason ?? told) : told;
    const lasted =
      run.endedWallMs === null || run.startedWallMs === null
        ? ''
        : `, ${duration(run.endedWallMs - run.startedWallMs)}`;
    return html`<li data-run=${run.id} class=${run.kind}>
      <div class="portrait small">
        ${probe ? nothing : portrait ? ringsFace(`log-${run.id}`, portrait.rings) : html`<div class="blank"></div>`}
      </div>
      <div class="says">
        <h2><a href=${addresses.replay(run.id)}>${run.pieceName}</a></h2>
        <p class="aside">
          ${dayAndTime(from)}${lasted} · ${run.bathName}
          ${run.simulated ? html`· ${words.simulated}` : nothing}
        </p>
        <p class="result ${run.outcome?.end ?? 'running'}">
          ${end}
          ${
            run.continues === null
              ? nothing
              : html`<a class="aside" href=${addresses.replay(run.continues)}
                  >${logWords.carriesOn}</a
                >`
          }
        </p>
      </div>
      <div class="course-small">${portrait ? thumbnail(portrait) : nothing}</div>
      <p class="grown" ?hidden=${probe}>
        ${figure(thickness(run.thicknessMicrometres))}
        <span class="aside">
          ${logWords.of(targetThickness(run.targetMicrometres), withUnit(charge))}
        </span>
      </p>
      ${probe ? nothing : this.#tick(run, from)}
    </li>`;
  }

  #tick(run: RunSummary, from: number): TemplateResult {
    const { picked } = this.search;
    const chosen = picked.includes(run.id);
    return html`<label class="pick">
      <input
        type="checkbox"
        .checked=${chosen}
        ?disabled=${!chosen && picked.length >= mostCompared}
        aria-label=${logWords.pick(run.pieceName, dayAndTime(from))}
        @change=${(event: Event) => this.#pick(run.id, (event.target as HTMLInputElement).checked)}
      />
      <span>${logWords.pickShort}</span>
    </label>`;
  }

  /** How many there are, and what is chosen; it stays at the top while the list moves. */
  #summary({ total, skip, runs }: Found): TemplateResult {
    const { picked } = this.search;
    const count =
      runs.length === 0 ? logWords.none : logWords.found(skip + 1, skip + runs.length, total);
    const advice =
      picked.length === 0
        ? logWords.pickFew
        : picked.length === 1
          ? logWords.pickOne
          : picked.length === mostCompared
            ? logWords.pickFull
            : '';
    return html`<div class="found">
      <p role="status">${count}</p>
      <p class="aside">${advice}</p>
      ${
        picked.length > 1
          ? html`<a class="press-link" href=${addresses.compare(picked)}
              >${logWords.compare(picked.length)}</a
            >`
          : nothing
      }
      ${
        picked.length > 0
          ? html`<button
              type="button"
              class="quiet"
              @click=${() => this.#go({ ...this.search, picked: [] }, false)}
            >
              ${logWords.unpick}
            </button>`
          : nothing
      }
    </div>`;
  }

  #pager(total: number): unknown {
    const pages = Math.max(1, Math.ceil(total / pageSize));
    const { page } = this.search;
    if (pages === 1 && page === 1) return nothing;
    const link = (to: number, label: string): unknown =>
      to < 1 || to > pages
        ? nothing
        : html`<a class="press-link" href=${logAddress({ ...this.search, page: to })}>${label}</a>`;
    return html`<nav class="pager" aria-label=${logWords.pages}>
      ${link(Math.min(page - 1, pages), logWords.newer)}
      <span class="aside"
        >${page > pages ? logWords.pastEnd(page) : logWords.page(page, pages)}</span
      >
      ${link(page + 1, logWords.older)}
    </nav>`;
  }

  #list(found: Found): TemplateResult {
    const nothingHere =
      found.total === 0 && found.baths.length === 0 ? logWords.empty : logWords.nothingFound;
    return html`${this.#summary(found)} ${found.total === 0 ? html`<p>${nothingHere}</p>` : nothing}
      <ol class="log" ?hidden=${found.runs.length === 0}>
        ${found.runs.map((run) => this.#row(run))}
      </ol>
      ${this.#pager(found.total)}
      ${found.runs.length > 0 ? html`<p class="aside">${logWords.key}</p>` : nothing}`;
  }

  override render(): TemplateResult {
    const { found, search } = this;
    return html`${heading(logWords.title)}
      ${searchForm(search, found?.baths ?? [], {
        change: (part, typed) => this.#change(part, typed),
        clear: () => this.#change({ ...emptySearch, picked: search.picked }, false),
      })}
      ${this.#problems.map(
        ({ field, value, bound }) =>
          html`<p class="problem" role="alert">
            ${logWords.leftOut(logWords.search.fields[field], value, bound)}
          </p>`,
      )}
      <p class="error" role="alert">${this.error}</p>
      ${
        this.error === ''
          ? nothing
          : html`<button type="button" @click=${() => void this.#load()}>${words.again}</button>`
      }
      ${found === null ? html`<p ?hidden=${this.error !== ''}>${words.loading}</p>` : this.#list(found)}`;
  }
}

customElements.define('log-page', LogPage);
