/** A run from the log, grown again: the picture and the curves in step with a scrubber. */

import { html, nothing, type TemplateResult } from 'lit';
import { guard } from 'lit/directives/guard.js';
import { withPlanRange } from '../daemon/run/growth-marks.ts';
import type { RunRecord } from '../daemon/wire/run.ts';
import { access } from './access.ts';
import { connection } from './connection.ts';
import { button, fact, figure, heading } from './element.ts';
import { explainedIn, stageTerms } from './explained-term.ts';
import { LiveElement } from './live-element.ts';
import { eventList, marksOf, outcomeText } from './event-list.ts';
import * as format from './format.ts';
import { atEnd, pause, positionAt, replayOf, seek, type ReplayClock } from './replay-clock.ts';
import { happeningsOf, momentOf } from './log/happenings.ts';
import { player } from './log/player.ts';
import { replayWords } from '#words/replay';
import { sensorCurves } from './sensors.ts';
import { ringsPicture } from './rings-picture.ts';
import { addresses } from './route.ts';
import { fetchPart } from './on-demand.ts';
import { bookOf } from './run/book.ts';
import { cabinet, type RunFolder } from './runs.ts';
import { words } from '#words/common';
import { ringWords } from '#words/rings';
import { sensorWords } from '#words/sensors';
import { runNowWords } from '#words/run-now';

const now = (): number => performance.now();
/** After the last move, before its moment goes into the address, ms. */
const settleMs = 300;

export class ReplayPage extends LiveElement {
  static override properties = { runId: {} };
  declare runId: string;
  #clock: ReplayClock | null = null;
  #frame = 0;
  #settling = 0;
  #problem = '';

  constructor() {
    super();
    this.runId = '';
  }

  override connectedCallback(): void {
    super.connectedCallback();
    void import('./charts.ts');
    void fetchPart(() => import('./run/run-notes.ts'));
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    cancelAnimationFrame(this.#frame);
    clearTimeout(this.#settling);
  }

  override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('runId')) this.#clock = null;
    const { track, record } = cabinet.open(this.runId);
    if (!this.#clock && record && track.length > 0) {
      // It opens on the whole picture, from where Play starts over, or at the moment of its address.
      const moment = momentOf(location.search);
      this.#problem = typeof moment === 'string' ? replayWords.badMoment(moment) : '';
      const at = typeof moment === 'number' ? moment : track.endMs;
      this.#clock = seek(replayOf(track.endMs), at, now());
    }
  }

  #set(clock: ReplayClock): void {
    this.#clock = clock;
    this.requestUpdate();
    cancelAnimationFrame(this.#frame);
    if (clock.playing) this.#frame = requestAnimationFrame(() => this.#tick());
    clearTimeout(this.#settling);
    this.#settling = window.setTimeout(() => this.#keep(clock), settleMs);
  }

  /** The moment it stands at stays in the address, so that it can be come back to. */
  #keep(clock: ReplayClock): void {
    if (clock.playing || location.pathname !== addresses.replay(this.runId)) return;
    const seconds = Math.floor(positionAt(clock, now()) / 1000);
    const moment = atEnd(clock, now()) ? '' : `?at=${seconds}`;
    history.replaceState(null, '', `${location.pathname}${moment}`);
  }

  #tick(): void {
    const clock = this.#clock;
    if (clock) this.#set(atEnd(clock, now()) ? pause(clock, now()) : clock);
  }

  #seek(atMs: number): void {
    if (this.#clock) this.#set(seek(this.#clock, atMs, now()));
  }

  #moment(folder: RunFolder, record: RunRecord, at: number): TemplateResult {
    const { track } = folder;
    const { plan } = record;
    const value = track.valueAt('thicknessMicrometres', at);
    const grown = withPlanRange(value, plan.thicknessMicrometres);
    const input = folder.rings(at, grown);
    const lifecycle = track.series.lifecycle[Math.max(0, track.indexAt(at))] ?? 'planned';
    return html`<figure>
        ${input ? ringsPicture('replay', input) : nothing}
        <figcaption class="aside">
          ${ringWords.caption(plan.request.piece.parts[plan.decidingPart]?.label ?? '')}
          ${input && input.lifts.length > 0 ? ringWords.gap : nothing}
          ${input && input.alarms.length > 0 ? ringWords.notch : nothing}
        </figcaption>
      </figure>
      <div class="thickness">
        <p class="big">${figure(format.thickness(value))}</p>
        <p class="aside">
          ${runNowWords.range(
            format.thicknessRange(grown.low, grown.high),
            format.targetThickness(plan.thicknessMicrometres.value),
          )}
        </p>
      </div>
      <dl class="facts numbers">
        ${fact(replayWords.stage, explainedIn(words.lifecycles[lifecycle], stageTerms))}
        ${fact(runNowWords.current, figure(format.amps(track.valueAt('amps', at))))}
        ${fact(runNowWords.voltage, figure(format.volts(track.valueAt('volts', at))))}
        ${fact(runNowWords.charge, figure(format.ampHours(track.valueAt('ampHours', at))))}
      </dl>`;
  }

  #head(record: RunRecord): TemplateResult {
    const { plan, outcome } = record;
    const live = connection.tank(record.tankId)?.run?.id === record.id && outcome === null;
    const scale = connection.tank(record.tankId)?.timeScale ?? 1;
    const from = record.startedWallMs ?? record.armedWallMs;
    return html`<div class="tags">
        <p class="simulated"><strong>${replayWords.banner}</strong>: ${replayWords.bannerNote}</p>
        ${
          record.simulated
            ? html`<p class="simulated">
                ${words.simulated} ${scale > 1 ? words.hurried(scale) : nothing}
              </p>`
            : nothing
        }
      </div>
      <p class="aside over">${format.dayAndTime(from)} · ${plan.bath.name}</p>
      ${heading(plan.request.piece.name)}
      <p class="sentence">
        ${outcome ? outcomeText(outcome) : nothing}
        ${
          live
            ? html`${replayWords.live}
                <a href=${addresses.run(record.tankId)}>${replayWords.toLive}</a>`
            : nothing
        }
      </p>`;
  }

  #takeAway(record: RunRecord, folder: RunFolder): TemplateResult {
    const file = `/api/runs/${encodeURIComponent(record.id)}`;
    return html`<p class="actions">
      ${
        record.kind === 'run' &&
        record.outcome !== null &&
        ['stopped', 'interrupted'].includes(record.outcome.end)
          ? html`<a class="press-link" href=${addresses.carryOn(record.id)}
              >${runNowWords.carryOn}</a
            >`
          : nothing
      }
      ${
        record.kind === 'run'
          ? html`<a class="press-link" href=${addresses.report(record.id)}>${replayWords.report}</a>
              <a class="press-link" href=${addresses.weighIn(record.id)}>${runNowWords.weighIn}</a>`
          : nothing
      }
      <a class="press-link" download href="${file}/export.csv">${replayWords.csv}</a>
      <a class="press-link" download href="${file}/events-export.csv">${replayWords.eventsCsv}</a>
      <a class="press-link" download href="${file}/export.json">${replayWords.json}</a>
      ${
        folder.sensors.length === 0
          ? nothing
          : html`<a class="press-link" download href="${file}/sensors-export.csv"
              >${sensorWords.csv}</a
            >`
      }
    </p>`;
  }

  override render(): TemplateResult {
    const folder = cabinet.open(this.runId);
    const { record, track } = folder;
    if (!record) {
      return html`${heading(replayWords.banner)}
        <p class="error" role="alert">${folder.error}</p>
        ${
          folder.error === null
            ? html`<p>${words.loading}</p>`
            : button(words.again, () => void folder.load())
        }`;
    }
    const clock = this.#clock;
    const at = clock ? positionAt(clock, now()) : 0;
    const view = clock && {
      clock,
      startWallMs: record.startedWallMs ?? 0,
      happenings: happeningsOf(folder.events, folder.alarms),
      set: (next: ReplayClock) => this.#set(next),
    };
    return html`${this.#head(record)}
      <p class="problem" role="alert">${this.#problem}</p>
      ${view ? player(view, at) : html`<p>${replayWords.noCurve}</p>`}
      <div class="moment">
        ${this.#moment(folder, record, at)}
        <div class="course">
          ${
            clock
              ? html`<run-charts
                  .track=${track}
                  .changes=${track.changes}
                  .startWallMs=${record.startedWallMs ?? record.armedWallMs}
                  .targetMicrometres=${record.plan.thicknessMicrometres.value}
                  .marks=${marksOf(folder.events, folder.alarms)}
                  .playedMs=${at}
                  .planned=${bookOf(record.id).planned}
                ></run-charts>`
              : nothing
          }
          ${sensorCurves(folder.sensors, clock?.lengthMs ?? 0, clock ? at : null)}
          <run-notes
            .runId=${record.id}
            .notes=${bookOf(record.id).notes}
            .blocked=${access.whyNot('control')}
          ></run-notes>
          <section aria-labelledby="events-title">
            <h2 id="events-title">${runNowWords.events}</h2>
            ${
              // While it plays nothing of it changes but the clock, which is asked when it is pressed.
              guard([folder.events, clock === null], () =>
                eventList(folder.events, clock && ((ms) => this.#seek(ms))),
              )
            }
          </section>
          ${this.#takeAway(record, folder)}
        </div>
      </div>`;
  }
}

customElements.define('replay-page', ReplayPage);
