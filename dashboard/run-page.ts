/** The Run page: one tank's run as it is now, from armed to its end. */

import { html, nothing, type TemplateResult } from 'lit';
import type { LiveRun, TankSnapshot } from '../daemon/wire/bench.ts';
import type { Role } from '../daemon/wire/roles.ts';
import { access } from './access.ts';
import { ApiError, command } from './api.ts';
import { connection } from './connection.ts';
import { button, heading } from './element.ts';
import { LiveElement } from './live-element.ts';
import { explainedIn, stageTerms } from './explained-term.ts';
import { eventList, marksOf, outcomeText } from './event-list.ts';
import { fetchPart } from './on-demand.ts';
import { probeView } from './probe-view.ts';
import { sensorCurves, sensorLines } from './sensors.ts';
import { ringsPicture } from './rings-picture.ts';
import { addresses } from './route.ts';
import { bookOf, type RunBook } from './run/book.ts';
import { runEnding, runFacts, runThickness } from './run/facts.ts';
import { nextSentence } from './run/next.ts';
import { partChooser, type PartFace } from './run/part-chooser.ts';
import { RunTurning } from './run/run-turning.ts';
import { startWaiting } from './run/start-waiting.ts';
import { stopsBy } from './run/target.ts';
import { told } from './units.ts';
import { runWords } from '#words/run';
import { cabinet, type RunFolder } from './runs.ts';
import { isFree, linkHealth, outputLine, simulatedLine } from './tank-lines.ts';
import { words } from '#words/common';
import { benchWords } from '#words/bench';
import { ringWords } from '#words/rings';
import { runNowWords } from '#words/run-now';

/** A press so soon after one that was obeyed is the same press twice, ms. */
const restMs = 700;
/** What leads to current. */
const switchesOn: ReadonlySet<string> = new Set(['start', 'put-back']);

/** What the log tells of a run is waited for so long before the rest is shown without it, ms. */
const patienceMs = 1500;

/** On a phone the curves come folded, and what draws them is fetched when they are opened. */
const wide = matchMedia('(min-width: 60rem)');

/** Elements for a run that waits for its start, and for a tank on which none is. */
const elements = {
  'run-start': () => import('./run/run-start.ts'),
  'interrupted-runs': () => import('./interrupted-runs.ts'),
};

function loadCharts(event: Event): void {
  if ((event.target as HTMLDetailsElement).open) void fetchPart(() => import('./charts.ts'));
}

export class RunPage extends LiveElement {
  static override properties = {
    tankId: {},
    shownPart: { state: true },
    error: { state: true },
    busy: { state: true },
  };
  declare tankId: string;
  /** Which part of the piece is shown large; null is the one that decides. */
  declare shownPart: number | null;
  declare error: string;
  /** A command is under way; a second press waits for its answer. */
  declare busy: boolean;

  constructor() {
    super();
    this.tankId = '';
    this.shownPart = null;
    this.error = '';
    this.busy = false;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    void fetchPart(() => import('./run/run-notes.ts'));
  }

  override willUpdate(): void {
    const tank = connection.tank(this.tankId);
    const run = tank?.run ?? null;
    if (run?.lifecycle === 'armed') void this.#fetch('run-start');
    if (run === null && this.#isInterrupted()) void this.#fetch('interrupted-runs');
    if (run !== null && run.id !== this.#runId) {
      this.#runId = run.id;
      this.shownPart = null;
    }
  }

  #restUntilMs = 0;
  #runId = '';
  /** What is being fetched, and whether it failed so far. */
  readonly #fetching = new Map<string, boolean>();

  #isInterrupted(): boolean {
    const waiting = connection.bench?.interrupted ?? [];
    return waiting.some(({ tankId }) => tankId === this.tankId);
  }

  /** Fetches an element once, when there is something for it to show. */
  async #fetch(name: keyof typeof elements): Promise<void> {
    if (this.#fetching.has(name) || customElements.get(name) !== undefined) return;
    this.#fetching.set(name, false);
    await fetchPart(elements[name], () => {
      this.#fetching.set(name, true);
      this.requestUpdate();
    });
    this.#fetching.delete(name);
    this.requestUpdate();
  }

  async #send(action: string, body: unknown): Promise<void> {
    // Put back stands where Lift stood, and the second of two quick presses was not meant for it.
    if (this.busy || (switchesOn.has(action) && performance.now() < this.#restUntilMs)) return;
    this.busy = true;
    this.error = '';
    try {
      await command(`/api/tanks/${encodeURIComponent(this.tankId)}/${action}`, body);
    } catch (error) {
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
    this.busy = false;
    this.#restUntilMs = performance.now() + restMs;
  }

  #onRun(action: string, { id, version }: LiveRun, more: object = {}): () => void {
    return () => void this.#send(action, { runId: id, version, ...more });
  }

  #waits(needed: Role = 'control'): string {
    const lacking = access.whyNot(needed);
    if (lacking !== '') return lacking;
    if (connection.state !== 'live') return words.run.stale;
    return this.busy ? words.run.busy : '';
  }

  /** Only the way out until its code is there: the plan and the checks come in sight with the button. */
  #startPanel(tank: TankSnapshot, run: LiveRun, folder: RunFolder): TemplateResult {
    const disarm = this.#onRun('disarm', run);
    if (customElements.get('run-start') === undefined)
      return startWaiting(this.#fetching.get('run-start') === true, this.#waits(), disarm);
    return html`<run-start
      .tank=${tank}
      .run=${run}
      .record=${folder.record}
      .blocked=${this.#waits()}
      .start=${(said: object) => this.#onRun('start', run, said)()}
      .disarm=${disarm}
    ></run-start>`;
  }

  #actions(run: LiveRun): TemplateResult {
    const lifted = run.lifecycle === 'lifted';
    const waits = this.#waits();
    return html`<div class="actions">
        ${
          lifted
            ? button(runNowWords.putBack, this.#onRun('put-back', run), {
                reason: waits,
                id: 'act-why',
                strong: true,
              })
            : button(runNowWords.lift, this.#onRun('lift', run), { reason: waits, id: 'act-why' })
        }
        ${
          lifted
            ? button(runNowWords.end, () => void this.#send('stop', {}), {
                reason: this.#waits('stop'),
                id: 'end-why',
              })
            : nothing
        }
      </div>
      <p class="aside">${runNowWords.liftNote}</p>`;
  }

  #picture(run: LiveRun, folder: RunFolder): TemplateResult {
    const parts = folder.record?.plan.request.piece.parts ?? [];
    const shown = this.#shown(folder);
    const input = folder.rings(run.elapsedMs, run.thicknessMicrometres, shown);
    return html`<figure>
      ${input ? ringsPicture('run', input) : html`<div class="rings blank"></div>`}
      <figcaption class="aside">
        ${ringWords.caption(parts[shown]?.label ?? '')}
        ${input && input.lifts.length > 0 ? ringWords.gap : nothing}
        ${input && input.alarms.length > 0 ? ringWords.notch : nothing}
      </figcaption>
    </figure>`;
  }

  /** The part that is shown large: the one that decides, until another is chosen. */
  #shown({ record }: RunFolder): number {
    return this.shownPart ?? record?.plan.decidingPart ?? 0;
  }

  #otherParts(run: LiveRun, folder: RunFolder): unknown {
    const parts = folder.record?.plan.request.piece.parts ?? [];
    const faces = parts.flatMap(({ label }, index): PartFace[] => {
      const input = folder.rings(run.elapsedMs, run.thicknessMicrometres, index);
      return input ? [{ index, label, input }] : [];
    });
    return partChooser(faces, this.#shown(folder), (index) => (this.shownPart = index));
  }

  /** What a person does to a run under way, apart from lifting it. */
  #underWay(run: LiveRun, armed: boolean, { record }: RunFolder): TemplateResult {
    const blocked = this.#waits();
    const stops = record ? stopsBy(record.plan.request.target) : 'thickness';
    return html`<run-turning .tankId=${this.tankId} .run=${run} .blocked=${blocked}></run-turning>
      ${
        armed || run.lifecycle === 'trickling'
          ? nothing
          : html`<details
              class="change"
              @toggle=${() => void fetchPart(() => import('./run/run-change.ts'))}
            >
              <summary><h2>${runWords.change.title}</h2></summary>
              <run-change
                .tankId=${this.tankId}
                .run=${run}
                .stopsBy=${stops}
                .blocked=${blocked}
              ></run-change>
            </details>`
      }`;
  }

  #openedMs = performance.now();

  /** Whether the log may still be about to tell of a run; it is not waited for long. */
  #patient(run: LiveRun, folder: RunFolder): boolean {
    const known = folder.record !== null || folder.error !== null || this.#book(run) === null;
    return !known && performance.now() - this.#openedMs < patienceMs;
  }

  /** Until it is ready a run need not be in the log yet, so it is not looked up. */
  #book({ id, lifecycle, ready }: LiveRun): RunBook | null {
    return lifecycle === 'armed' && !ready ? null : bookOf(id);
  }

  #notes(run: LiveRun): TemplateResult {
    const blocked =
      access.whyNot('control') || (connection.state === 'live' ? '' : words.run.stale);
    return html`<run-notes
      .runId=${run.id}
      .notes=${this.#book(run)?.notes ?? []}
      .blocked=${blocked}
    ></run-notes>`;
  }

  #supply(tank: TankSnapshot): TemplateResult {
    const { link } = tank;
    return html`<section aria-labelledby="supply-title" class="supply">
      <h2 id="supply-title">${runNowWords.supply}</h2>
      <p class="output ${tank.output}">${outputLine(tank)}.</p>
      <p class="link ${link.state}">${words.link[link.state]}: ${link.message}</p>
      <p class="aside">${link.state === 'connected' ? linkHealth(link) : nothing}</p>
      ${sensorLines(tank.sensors)}
    </section>`;
  }

  #curves(run: LiveRun, folder: RunFolder): TemplateResult {
    const begun = run.lifecycle === 'armed' ? '' : 'begun';
    return html`<details class="curves ${begun}" ?open=${wide.matches} @toggle=${loadCharts}>
      <summary><h2>${runNowWords.charts}</h2></summary>
      <run-charts
        .track=${folder.track}
        .changes=${folder.track.changes}
        .startWallMs=${run.startedWallMs ?? run.armedWallMs}
        .targetMicrometres=${run.targetMicrometres}
        .marks=${marksOf(folder.events, folder.alarms)}
        .planned=${this.#book(run)?.planned ?? null}
      ></run-charts>
    </details>`;
  }

  /** Below what starts a run, so it waits while that is fetched; where it cannot be had it waits no more. */
  #moment(tank: TankSnapshot, run: LiveRun, folder: RunFolder): unknown {
    const armed = run.lifecycle === 'armed';
    if (armed && this.#fetching.get('run-start') === false) return nothing;
    return html`<div class="moment">
      ${this.#picture(run, folder)} ${armed ? nothing : runThickness(run)}
      <div class="numbers ${this.#patient(run, folder) ? 'waits' : ''}">
        ${this.#otherParts(run, folder)} ${armed ? nothing : runFacts(tank, run, folder)}
        ${armed || isFree(tank) ? nothing : this.#actions(run)}
        ${isFree(tank) ? nothing : this.#underWay(run, armed, folder)} ${this.#supply(tank)}
      </div>
      <div class="course">
        ${this.#curves(run, folder)} ${sensorCurves(folder.sensors, run.elapsedMs, null)}
        ${this.#notes(run)}
        <section aria-labelledby="events-title">
          <h2 id="events-title">${runNowWords.events}</h2>
          ${eventList(folder.events, null)}
        </section>
      </div>
    </div>`;
  }

  override render(): TemplateResult {
    const tank = connection.tank(this.tankId);
    const run = tank?.run;
    if (!tank || !run) {
      return html`${heading(tank?.name ?? this.tankId)}
      ${
        connection.bench
          ? html`<p>${runNowWords.none}</p>
              <interrupted-runs .tankId=${this.tankId}></interrupted-runs>
              <p class="way-on">
                <a class="press-link" href=${addresses.planOn(this.tankId)}
                  >${benchWords.planHere}</a
                >
                <a class="press-link" href=${addresses.bench}>${words.toBench}</a>
              </p>`
          : nothing
      }`;
    }
    const folder = cabinet.openLive(run);
    if (run.kind === 'probe') return probeView(tank, run, folder);
    const armed = run.lifecycle === 'armed';
    return html`<p class="aside over">${tank.name} · ${run.bathName}</p>
      ${heading(run.pieceName)} ${simulatedLine(tank)}
      <p class="sentence large">${run.outcome ? outcomeText(run.outcome) : told(run.sentence)}</p>
      <p class="aside next">
        ${explainedIn(nextSentence(run, folder.record?.plan ?? null), stageTerms)}
      </p>
      <p class="unseen" role="status">${words.lifecycles[run.lifecycle]}</p>
      ${armed ? this.#startPanel(tank, run, folder) : nothing} ${runEnding(tank, run, folder)}
      <p class="error" role="alert">${this.error || folder.error}</p>
      ${this.#moment(tank, run, folder)}`;
  }
}

customElements.define('run-turning', RunTurning);
customElements.define('run-page', RunPage);
