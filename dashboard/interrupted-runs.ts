/** Runs that were cut short: what was going on, what the supply does now, and the one choice there is. */

import { html, nothing, type TemplateResult } from 'lit';
import type { InterruptedRun } from '../daemon/wire/interrupted.ts';
import { longestNote } from '../daemon/wire/bounds.ts';
import { access } from './access.ts';
import { ApiError, command } from './api.ts';
import { connection } from './connection.ts';
import { button, fact, figure } from './element.ts';
import * as format from './format.ts';
import { LiveElement } from './live-element.ts';
import { addresses } from './route.ts';
import { outputLine } from './tank-lines.ts';
import { told } from './units.ts';
import { words } from '#words/common';
import { interruptedWords as says } from '#words/interrupted';

const text = format.withUnit;

class InterruptedRuns extends LiveElement {
  static override properties = { tankId: {}, error: { state: true }, busy: { state: true } };
  /** Only those of this tank; null for all. */
  declare tankId: string | null;
  declare error: string;
  /** The run that is being ended. */
  declare busy: string | null;
  readonly #notes = new Map<string, string>();
  #ended = '';

  constructor() {
    super();
    this.tankId = null;
    this.error = '';
    this.busy = null;
  }

  async #end({ runId, pieceName }: InterruptedRun): Promise<void> {
    if (this.busy !== null) return;
    this.busy = runId;
    this.error = '';
    this.#ended = '';
    try {
      const note = (this.#notes.get(runId) ?? '').trim();
      await command(`/api/runs/${encodeURIComponent(runId)}/end`, { note });
      this.#ended = says.ended(pieceName);
    } catch (error) {
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
    this.busy = null;
  }

  #facts(run: InterruptedRun): TemplateResult {
    const { thicknessMicrometres: grown, ampHours, lowAmpHours, highAmpHours } = run;
    const bounds = says.range(
      format.ampHours(lowAmpHours).text,
      text(format.ampHours(highAmpHours)),
    );
    const charge = highAmpHours > lowAmpHours ? bounds : says.exact;
    return html`<dl class="facts">
      ${fact(
        says.grown,
        figure(format.thickness(grown.value)),
        says.grownNote(
          format.thicknessRange(grown.low, grown.high),
          format.targetThickness(run.targetMicrometres),
        ),
      )}
      ${fact(
        says.charge,
        figure(format.ampHours(ampHours)),
        says.chargeNote(charge, text(format.ampHours(run.targetAmpHours))),
      )}
    </dl>`;
  }

  #supply({ tankId }: InterruptedRun): TemplateResult {
    const tank = connection.tank(tankId);
    if (tank === null) return html`<p class="supply"><b>${says.now}:</b> ${says.noTank}.</p>`;
    const { reading, link } = tank;
    const measured =
      reading === null || link.state !== 'connected'
        ? says.noReading
        : says.nowAmps(text(format.amps(reading.amps)), text(format.volts(reading.volts)));
    const away = link.state === 'connected' ? '' : ` ${words.link[link.state]}.`;
    return html`<p class="supply output ${tank.output}">
      <b>${says.now}:</b> ${outputLine(tank)}; ${measured}.${away}
    </p>`;
  }

  #choice(run: InterruptedRun): TemplateResult {
    const live = access.whyNot('control') || (connection.state === 'live' ? '' : words.run.stale);
    const noteId = `note-${run.runId}`;
    return html`<div class="choice">
        ${
          run.hindrance === null
            ? html`<a class="press-link" href=${addresses.carryOn(run.runId)}>${says.carryOn}</a>`
            : nothing
        }
        ${button(says.end, () => void this.#end(run), {
          reason: live || (this.busy === run.runId ? words.run.busy : ''),
          id: `end-${run.runId}`,
        })}
      </div>
      <label class="note-line" for=${noteId}>
        <span class="aside">${says.note}</span>
        <input
          id=${noteId}
          maxlength=${longestNote}
          autocomplete="off"
          .value=${this.#notes.get(run.runId) ?? ''}
          @input=${(event: Event) =>
            this.#notes.set(run.runId, (event.target as HTMLInputElement).value)}
        />
      </label>`;
  }

  #run(run: InterruptedRun): TemplateResult {
    const at = run.seenWallMs;
    const titleId = `cut-short-${run.runId}`;
    const earlier = run.earlierRunIds.length;
    const remarks = [
      ...(earlier > 0 ? [says.earlier(earlier)] : []),
      ...run.remarks,
      ...(run.hindrance === null ? [] : [run.hindrance]),
    ];
    return html`<article class="cut-short" aria-labelledby=${titleId}>
      <div>
        <h2 id=${titleId}>
          <a href=${addresses.replay(run.runId)}>${says.title(run.pieceName)}</a>
        </h2>
        <p>
          ${says.when(run.tankName ?? says.tank(run.tankId), format.day(at), format.clock(at))}
          ${told(run.reason)}
        </p>
        ${this.#supply(run)} ${remarks.map((remark) => html`<p>${format.pretty(remark)}</p>`)}
      </div>
      <div>
        ${this.#facts(run)}
        <p class="aside">${says.question}</p>
        ${this.#choice(run)}
      </div>
    </article>`;
  }

  override render(): TemplateResult {
    const all = connection.bench?.interrupted ?? [];
    const shown = all.filter(({ tankId }) => this.tankId === null || tankId === this.tankId);
    return html`<p class="said-ended" role="status">${this.#ended}</p>
      <p class="error" role="alert">${this.error}</p>
      ${shown.map((run) => this.#run(run))}`;
  }
}

customElements.define('interrupted-runs', InterruptedRuns);

/** All runs that wait for a decision. */
export function interruptedRuns(): TemplateResult {
  return html`<interrupted-runs></interrupted-runs>`;
}
