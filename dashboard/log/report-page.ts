/** A run on one or two sheets of paper: piece, plan, curves, events, weigh-in, cautions. */

import { html, nothing, type TemplateResult } from 'lit';
import { withPlanRange } from '../../daemon/run/growth-marks.ts';
import type { RunNote } from '../../daemon/wire/run-book.ts';
import type { RunRecord } from '../../daemon/wire/run.ts';
import type { WeighInView } from '../../daemon/wire/weigh-in.ts';
import { read, readList } from '../api.ts';
import { connection } from '../connection.ts';
import { button, fact, heading } from '../element.ts';
import { outcomeText } from '../event-list.ts';
import * as format from '../format.ts';
import { LiveElement } from '../live-element.ts';
import { ringsPicture } from '../rings-picture.ts';
import { addresses } from '../route.ts';
import { cabinet, type RunFolder } from '../runs.ts';
import { plannedDensityText, told } from '../units.ts';
import { words } from '#words/common';
import { happeningsOf } from './happenings.ts';
import { chosenEvents, photoRows, shortened } from './report-content.ts';
import { reportCurve } from './report-curves.ts';
import { pieceTable, planTable, type PartKind } from './report-parts.ts';
import { ReportPhotos } from './report-photos.ts';
import { weighInSection } from './report-weigh-in.ts';
import { reportWords } from '#words/report';
import { ringWords } from '#words/rings';

/** Printed lines for events in all; what else stands on the second sheet takes some of them. */
const eventLines = 44;
const weighInLines = 12;
const noteLines = 3;
const mostNotes = 4;
const noteLetters = 160;

const textOf = format.withUnit;

export class ReportPage extends LiveElement {
  static override properties = { runId: {}, more: { state: true }, settled: { state: true } };
  declare runId: string;
  /** What else the report shows, once it is there; what cannot be had is left out of it. */
  declare more: {
    readonly kinds: readonly PartKind[];
    readonly weighIn: WeighInView | null;
    readonly notes: readonly RunNote[];
  } | null;

  /** Every photo on the sheet is there, or known to be lost. */
  declare settled: boolean;

  constructor() {
    super();
    this.runId = '';
    this.more = null;
    this.settled = false;
  }

  override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('runId')) void this.#load(this.runId);
  }

  async #load(runId: string): Promise<void> {
    this.more = null;
    this.settled = false;
    const path = `/api/runs/${encodeURIComponent(runId)}`;
    const [kinds, weighIn, notes] = await Promise.all([
      readList<PartKind>('/api/parts').catch(() => []),
      read<WeighInView>(`${path}/weigh-in`).catch(() => null),
      readList<RunNote>(`${path}/notes`).catch(() => []),
    ]);
    if (runId !== this.runId) return;
    this.settled = notes.every(({ picture }) => picture === null);
    this.more = { kinds, weighIn, notes };
  }

  #head(record: RunRecord): TemplateResult {
    const { plan, outcome, startedWallMs, armedWallMs, endedWallMs } = record;
    const from = startedWallMs ?? armedWallMs;
    const begun = format.dayAndTime(from);
    const span =
      endedWallMs === null
        ? reportWords.since(begun)
        : reportWords.when(begun, format.clock(endedWallMs), format.duration(endedWallMs - from));
    return html`<p class="aside over">${reportWords.title} · ${span}</p>
      ${heading(plan.request.piece.name)}
      <p class="aside">${plan.tank.name} · ${plan.bath.name}</p>
      <p class="sentence">
        ${outcome === null ? reportWords.running : outcomeText(outcome)}
        ${startedWallMs === null ? reportWords.notStarted : nothing}
      </p>
      ${record.simulated ? html`<p class="simulated">${words.simulated}</p>` : nothing}`;
  }

  #figures(record: RunRecord): TemplateResult {
    const { plan, thicknessMicrometres, ampHours, lowAmpHours, highAmpHours } = record;
    const { figures } = reportWords;
    const grown = withPlanRange(thicknessMicrometres, plan.thicknessMicrometres);
    // Metal goes with charge, whatever the share of it that becomes metal.
    const share = plan.targetChargeAmpHours > 0 ? ampHours / plan.targetChargeAmpHours : 0;
    const [low, high] = [lowAmpHours, highAmpHours].map((bound) => textOf(format.ampHours(bound)));
    // What no digit shows is no range worth a line.
    const gaps =
      low !== undefined && high !== undefined && low !== high
        ? figures.between(low, high)
        : figures.planned(textOf(format.ampHours(plan.targetChargeAmpHours)));
    const carried = record.carriedAmpHours > 0;
    return html`<dl class="facts">
      ${fact(
        figures.thickness,
        textOf(format.thickness(thicknessMicrometres)),
        figures.range(format.thicknessRange(grown.low, grown.high)),
      )}
      ${fact(figures.target, format.targetThickness(plan.thicknessMicrometres.value))}
      ${fact(
        figures.charge,
        textOf(format.ampHours(ampHours)),
        carried ? figures.carried(textOf(format.ampHours(record.carriedAmpHours))) : gaps,
      )}
      ${fact(figures.mass, textOf(format.mass(plan.massGrams.value * share)))}
      ${fact(figures.density, plannedDensityText(plan.request.densityAmpsPerDm2))}
      ${fact(figures.area, `${format.threeDigits(plan.areaDm2.value)} dm²`)}
    </dl>`;
  }

  #curves(record: RunRecord, folder: RunFolder): TemplateResult | typeof nothing {
    const { series, endMs: lengthMs } = folder.track;
    if (folder.track.length === 0) return nothing;
    const { curve } = reportWords;
    const happenings = happeningsOf(folder.events, folder.alarms);
    const shared = { atMs: series.atMs, lengthMs, target: null, happenings, startWallMs: null };
    return html`<section class="curves">
      <h2>${reportWords.curves}</h2>
      ${reportCurve({
        ...shared,
        title: curve.current,
        unit: 'A',
        lines: [
          { values: series.setAmps, look: 'wanted' },
          { values: series.amps, look: 'measured' },
        ],
      })}
      ${reportCurve({
        ...shared,
        title: curve.voltage,
        unit: 'V',
        lines: [{ values: series.volts, look: 'measured' }],
      })}
      ${reportCurve({
        ...shared,
        title: curve.thickness,
        unit: 'µm',
        lines: [{ values: series.thicknessMicrometres, look: 'metal' }],
        target: record.plan.thicknessMicrometres.value,
        startWallMs: record.startedWallMs ?? record.armedWallMs,
      })}
      <p class="aside">${reportWords.key}</p>
    </section>`;
  }

  #events(folder: RunFolder, notes: readonly RunNote[], lines: number): TemplateResult {
    const alarms = new Set(folder.alarms.map(({ code }) => code));
    // What stands as a note already is not said again.
    const noted = new Set(notes.map(({ eventId }) => eventId));
    const events = folder.events.filter(({ id }) => !noted.has(id));
    const { shown, leftOut } = chosenEvents(events, alarms, lines);
    return html`<section>
      <h2>${reportWords.events}</h2>
      ${shown.length === 0 ? html`<p>${reportWords.noEvents}</p>` : nothing}
      <ol class="report-events">
        ${shown.map(
          ({ wallMs, code, message }) =>
            html`<li>
              <time>${format.clock(wallMs)}</time>
              <span>
                ${alarms.has(code) ? html`<b>${reportWords.alarmMark}.</b>` : nothing}
                ${code === 'note' ? message : told(message)}
              </span>
            </li>`,
        )}
      </ol>
      ${leftOut > 0 ? html`<p class="aside">${reportWords.moreEvents(leftOut)}</p>` : nothing}
    </section>`;
  }

  #notes(notes: readonly RunNote[], rows: number): TemplateResult | typeof nothing {
    if (notes.length === 0) return nothing;
    const written = notes.filter(({ text }) => text !== '');
    return html`<section class="report-notes">
      <h2>${reportWords.notes}</h2>
      <ul ?hidden=${written.length === 0}>
        ${written
          .slice(0, mostNotes)
          .map(
            ({ wallMs, text, picture }) =>
              html`<li>
                ${format.clock(wallMs)} ${shortened(text, noteLetters)}
                ${picture === null ? nothing : html`(${reportWords.photo})`}
              </li>`,
          )}
      </ul>
      ${
        written.length > mostNotes
          ? html`<p class="aside">${reportWords.moreNotes(written.length - mostNotes)}</p>`
          : nothing
      }
      ${
        rows === 0
          ? nothing
          : html`<report-photos
              .notes=${notes.filter(({ picture }) => picture !== null)}
              .rows=${rows}
              @photos-settled=${() => (this.settled = true)}
            ></report-photos>`
      }
    </section>`;
  }

  #bath({ sensors }: RunFolder): TemplateResult | typeof nothing {
    const heard = sensors.filter(({ values }) => values.length > 0).slice(0, 4);
    if (heard.length === 0) return nothing;
    return html`<section>
      <h2>${reportWords.bath}</h2>
      <p>
        ${heard.map(({ name, unit, values }) => {
          const low = values.reduce((a, b) => Math.min(a, b), Infinity);
          const high = values.reduce((a, b) => Math.max(a, b), -Infinity);
          return html`${reportWords.heard(name, format.exact(low), `${format.exact(high)} ${unit}`)} `;
        })}
      </p>
    </section>`;
  }

  #sheet(record: RunRecord, folder: RunFolder): TemplateResult {
    const { kinds = [], weighIn = null, notes = [] } = this.more ?? {};
    const { plan } = record;
    const grown = withPlanRange(record.thicknessMicrometres, plan.thicknessMicrometres);
    const input = folder.rings(Infinity, grown);
    const label = plan.request.piece.parts[plan.decidingPart]?.label ?? '';
    const written = notes.filter(({ text }) => text !== '').length;
    const used =
      (weighIn?.saved?.weighIn ? weighInLines : 0) + noteLines * Math.min(mostNotes, written);
    const photos = notes.filter(({ picture }) => picture !== null).length;
    const { rows, linesLeft } = photoRows(photos, eventLines - used);
    const made = format.dayAndTime(Date.now());
    return html`<article class="report" ?data-ready=${this.more !== null && this.settled}>
      ${this.#head(record)}
      <div class="report-top">
        <div class="report-picture">${input ? ringsPicture('report', input) : nothing}</div>
        ${this.#figures(record)}
        <p class="aside report-caption">
          ${ringWords.caption(label)} ${input && input.lifts.length > 0 ? ringWords.gap : nothing}
          ${input && input.alarms.length > 0 ? ringWords.notch : nothing}
        </p>
      </div>
      ${this.#curves(record, folder)} ${pieceTable(record, kinds)} ${planTable(record)}
      ${this.#bath(folder)} ${weighInSection(weighIn)} ${this.#notes(notes, rows)}
      ${this.#events(folder, notes, linesLeft)}
      <section class="report-cautions">
        <h2>${reportWords.cautions}</h2>
        <ul>
          ${words.cautions.list.map((caution) => html`<li>${caution}</li>`)}
          <li>${reportWords.estimate}</li>
        </ul>
      </section>
      <p class="aside">${reportWords.made(connection.bench?.studio ?? '', made, record.id)}</p>
    </article>`;
  }

  override render(): TemplateResult {
    const folder = cabinet.open(this.runId);
    const { record } = folder;
    if (record === null) {
      return html`${heading(reportWords.title)}
        <p class="error" role="alert">${folder.error}</p>
        ${
          folder.error === null
            ? html`<p>${words.loading}</p>`
            : button(words.again, () => void folder.load())
        }`;
    }
    const back = html`<a class="press-link" href=${addresses.replay(record.id)}
      >${reportWords.back}</a
    >`;
    if (record.kind === 'probe') {
      return html`${heading(reportWords.title)}
        <p>${reportWords.probe}</p>
        ${back}`;
    }
    return html`<p class="actions unprinted">
        ${button(reportWords.print, () => print(), { strong: true })} ${back}
      </p>
      ${this.#sheet(record, folder)}`;
  }
}

customElements.define('report-photos', ReportPhotos);
customElements.define('report-page', ReportPage);
