/** A run from the log, grown again: the picture and the curves in step with a scrubber. */

import { html, nothing, type TemplateResult } from 'lit';
import { withPlanRange } from '../daemon/run/growth-marks.ts';
import type { RunRecord } from '../daemon/wire/run.ts';
import { connection } from './connection.ts';
import { button, fact, figure, heading } from './element.ts';
import { LiveElement } from './live-element.ts';
import { eventList, marksOf, outcomeText } from './event-list.ts';
import * as format from './format.ts';
import {
  atEnd,
  atSpeed,
  pause,
  play,
  positionAt,
  replayOf,
  replaySpeeds,
  seek,
  type ReplayClock,
} from './replay-clock.ts';
import { sensorCurves } from './sensors.ts';
import { ringsPicture } from './rings-picture.ts';
import { addresses } from './route.ts';
import { cabinet, type RunFolder } from './runs.ts';
import { words } from './words.ts';

const now = (): number => performance.now();

export class ReplayPage extends LiveElement {
  static override properties = { runId: {} };
  declare runId: string;
  #clock: ReplayClock | null = null;
  #frame = 0;

  constructor() {
    super();
    this.runId = '';
  }

  override connectedCallback(): void {
    super.connectedCallback();
    void import('./charts.ts');
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    cancelAnimationFrame(this.#frame);
  }

  override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('runId')) this.#clock = null;
    const { track, record } = cabinet.open(this.runId);
    if (!this.#clock && record && track.length > 0) {
      // It opens on the whole picture; Play starts over from there.
      this.#clock = seek(replayOf(track.endMs), track.endMs, now());
    }
  }

  #set(clock: ReplayClock): void {
    this.#clock = clock;
    this.requestUpdate();
    cancelAnimationFrame(this.#frame);
    if (clock.playing) this.#frame = requestAnimationFrame(() => this.#tick());
  }

  #tick(): void {
    const clock = this.#clock;
    if (clock) this.#set(atEnd(clock, now()) ? pause(clock, now()) : clock);
  }

  #toEvent(folder: RunFolder, direction: 1 | -1): void {
    if (!this.#clock) return;
    const at = positionAt(this.#clock, now());
    const times = folder.events.flatMap(({ atMs }) => (atMs === null ? [] : [atMs]));
    const ahead = times.filter((time) => (time - at) * direction > 1);
    const nearest = direction === 1 ? Math.min(...ahead) : Math.max(...ahead);
    if (Number.isFinite(nearest)) this.#set(seek(this.#clock, nearest, now()));
  }

  #controls(clock: ReplayClock, folder: RunFolder, at: number): TemplateResult {
    const start = folder.record?.startedWallMs ?? 0;
    const steps = 1000;
    return html`<div class="player">
      <div class="actions">
        ${
          clock.playing
            ? button(words.replay.pause, () => this.#set(pause(clock, now())), { strong: true })
            : button(words.replay.play, () => this.#set(play(clock, now())), { strong: true })
        }
        ${button(words.replay.previous, () => this.#toEvent(folder, -1))}
        ${button(words.replay.next, () => this.#toEvent(folder, 1))}
      </div>
      <label class="scrubber">
        <span class="unseen">${words.replay.position}</span>
        <input
          type="range"
          min="0"
          max=${steps}
          .value=${String(Math.round((at / clock.lengthMs) * steps))}
          aria-valuetext=${format.clock(start + at)}
          @input=${(event: Event) => {
            const share = Number((event.target as HTMLInputElement).value) / steps;
            this.#set(seek(clock, share * clock.lengthMs, now()));
          }}
        />
      </label>
      <div class="scrubbed">
        <span>
          ${format.clockSeconds(start + at)}
          <span class="aside">${format.elapsed(at)} / ${format.elapsed(clock.lengthMs)}</span>
        </span>
        <label class="speed">
          <span>${words.replay.speed}</span>
          <select
            @change=${(event: Event) =>
              this.#set(atSpeed(clock, Number((event.target as HTMLSelectElement).value), now()))}
          >
            ${replaySpeeds.map(
              (speed) =>
                html`<option value=${speed} ?selected=${speed === clock.speed}>
                  ${words.replay.times(speed)}
                </option>`,
            )}
          </select>
        </label>
      </div>
    </div>`;
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
          ${words.rings.caption(plan.request.piece.parts[plan.decidingPart]?.label ?? '')}
          ${input && input.lifts.length > 0 ? words.rings.gap : nothing}
          ${input && input.alarms.length > 0 ? words.rings.notch : nothing}
        </figcaption>
      </figure>
      <div class="thickness">
        <p class="big">${figure(format.thickness(value))}</p>
        <p class="aside">
          ${words.run.range(
            format.thicknessRange(grown.low, grown.high),
            format.targetThickness(plan.thicknessMicrometres.value),
          )}
        </p>
      </div>
      <dl class="facts numbers">
        ${fact(words.replay.stage, words.lifecycles[lifecycle])}
        ${fact(words.run.current, figure(format.amps(track.valueAt('amps', at))))}
        ${fact(words.run.voltage, figure(format.volts(track.valueAt('volts', at))))}
        ${fact(words.run.charge, figure(format.ampHours(track.valueAt('ampHours', at))))}
      </dl>`;
  }

  #head(record: RunRecord): TemplateResult {
    const { plan, outcome } = record;
    const live = connection.tank(record.tankId)?.run?.id === record.id && outcome === null;
    const scale = connection.tank(record.tankId)?.timeScale ?? 1;
    const from = record.startedWallMs ?? record.armedWallMs;
    return html`<div class="tags">
        <p class="simulated"><strong>${words.replay.banner}</strong>: ${words.replay.bannerNote}</p>
        ${
          record.simulated
            ? html`<p class="simulated">
                ${words.simulated} ${scale > 1 ? words.hurried(scale) : nothing}
              </p>`
            : nothing
        }
      </div>
      <p class="aside over">${format.day(from)}, ${format.clock(from)} · ${plan.bath.name}</p>
      ${heading(plan.request.piece.name)}
      <p class="sentence">
        ${outcome ? outcomeText(outcome) : nothing}
        ${
          live
            ? html`${words.replay.live}
                <a href=${addresses.run(record.tankId)}>${words.replay.toLive}</a>`
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
              >${words.run.carryOn}</a
            >`
          : nothing
      }
      <a class="press-link" download href="${file}/export.csv">${words.replay.csv}</a>
      <a class="press-link" download href="${file}/export.json">${words.replay.json}</a>
      ${
        folder.sensors.length === 0
          ? nothing
          : html`<a class="press-link" download href="${file}/sensors-export.csv"
              >${words.sensors.csv}</a
            >`
      }
    </p>`;
  }

  override render(): TemplateResult {
    const folder = cabinet.open(this.runId);
    const { record, track } = folder;
    if (!record) {
      return html`${heading(words.replay.banner)}
        <p class="error" role="alert">${folder.error}</p>
        ${
          folder.error === null
            ? html`<p>${words.loading}</p>`
            : button(words.again, () => void folder.load())
        }`;
    }
    const clock = this.#clock;
    const at = clock ? positionAt(clock, now()) : 0;
    return html`${this.#head(record)}
      ${clock ? this.#controls(clock, folder, at) : html`<p>${words.replay.noCurve}</p>`}
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
                ></run-charts>`
              : nothing
          }
          ${sensorCurves(folder.sensors, clock?.lengthMs ?? 0, clock ? at : null)}
          <section aria-labelledby="events-title">
            <h2 id="events-title">${words.run.events}</h2>
            ${eventList(folder.events, clock && ((ms) => this.#set(seek(clock, ms, now()))))}
          </section>
          ${this.#takeAway(record, folder)}
        </div>
      </div>`;
  }
}

customElements.define('replay-page', ReplayPage);
