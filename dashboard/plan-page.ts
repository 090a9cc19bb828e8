/** The Plan page: describe a piece, read what the daemon makes of it, arm it. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Problem } from '../daemon/piece/model.ts';
import { decidingPart, pieceGrowth } from '../daemon/piece/piece.ts';
import type { Plan } from '../daemon/run/model.ts';
import type { TankSnapshot } from '../daemon/wire/bench.ts';
import { checklistItems } from '../daemon/wire/command.ts';
import { runRecordSchema } from '../daemon/wire/run.ts';
import { ApiError, command, plan as askPlan, read } from './api.ts';
import { connection } from './connection.ts';
import { button, figure, heading } from './element.ts';
import { LiveElement } from './live-element.ts';
import * as format from './format.ts';
import { draftFrom, draftOf, newDraft, requestOf, type Draft } from './plan-draft.ts';
import type { FormContext } from './form-field.ts';
import { PieceBuilder } from './piece/builder.ts';
import type { PieceDraft } from './piece/draft.ts';
import { runForm } from './plan-form.ts';
import { decisiveNumbers, noticeList, planDetails } from './plan-verdict.ts';
import { plannedHours } from './planned-hours.ts';
import { ringsPicture } from './rings-picture.ts';
import { addresses, go } from './route.ts';
import { decidingSection } from './runs.ts';
import { isFree, simulatedLine } from './tank-face.ts';
import { keep, kept } from './theme.ts';
import { words } from './words.ts';

const draftKey = 'nightbath.draft';
/** Rest after the last key before a plan is asked for, ms. */
const restMs = 250;

export class PlanPage extends LiveElement {
  static override properties = { tankId: {}, continues: {} };
  declare tankId: string | null;
  declare continues: string | null;
  #draft: Draft = draftFrom(kept(draftKey));
  #plan: Plan | null = null;
  #problems: readonly Problem[] = [];
  /** True from a change until its answer is there. */
  #pending = true;
  #error = '';
  #checked = new Set<string>();
  #timer = 0;
  #asking: AbortController | null = null;
  #settled = false;

  constructor() {
    super();
    this.tankId = null;
    this.continues = null;
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearTimeout(this.#timer);
    this.#asking?.abort();
  }

  override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('continues') && this.continues !== null) void this.#carryOn(this.continues);
    if (!this.#settled && connection.bench && connection.bench.tanks.length > 0) this.#settle();
  }

  /** Puts a tank and a bath into the draft once the bench is known, and asks for the first plan. */
  #settle(): void {
    const { tanks = [], baths = [] } = connection.bench ?? {};
    const draft = this.#draft;
    const find = (id: string | null): TankSnapshot | undefined => tanks.find((t) => t.id === id);
    const tank = find(this.tankId) ?? find(draft.tankId) ?? tanks.find(isFree) ?? tanks[0];
    this.#settled = true;
    if (tank && tank.id !== draft.tankId) {
      draft.tankId = tank.id;
      draft.bathId = tank.bathId;
    }
    if (!baths.some(({ id }) => id === draft.bathId)) draft.bathId = tank?.bathId ?? '';
    // An empty plan begins with what is usual in this bath.
    const typical = baths.find(({ id }) => id === draft.bathId)?.window.typicalAmpsPerDm2;
    if (draft.density === '' && typical !== undefined) draft.density = String(typical);
    this.#change(() => undefined);
  }

  async #carryOn(runId: string): Promise<void> {
    try {
      const run = await read(`/api/runs/${encodeURIComponent(runId)}`, runRecordSchema);
      const { ampHours, thicknessMicrometres } = run;
      this.#draft = {
        ...draftOf(run.plan.request),
        continues: { runId, ampHours, thicknessMicrometres },
      };
      history.replaceState(null, '', addresses.plan);
      this.#change(() => undefined);
    } catch (error) {
      this.#error = error instanceof ApiError ? error.message : words.failed;
      this.requestUpdate();
    }
  }

  readonly #change = (edit: (draft: Draft) => void): void => {
    edit(this.#draft);
    keep(draftKey, JSON.stringify(this.#draft));
    this.#pending = true;
    this.#asking?.abort();
    clearTimeout(this.#timer);
    this.#timer = window.setTimeout(() => void this.#ask(), restMs);
    this.requestUpdate();
  };

  readonly #changePiece = (piece: PieceDraft): void => {
    this.#change((draft) => (draft.piece = piece));
  };

  async #ask(): Promise<void> {
    const { request, problems } = requestOf(this.#draft);
    if (problems.length > 0) {
      this.#answer(null, problems, '');
      return;
    }
    const asking = new AbortController();
    this.#asking = asking;
    try {
      const result = await askPlan(request, asking.signal);
      if (asking.signal.aborted) return;
      this.#answer(result.ok ? result.plan : null, result.ok ? [] : result.problems, '');
    } catch (error) {
      if (asking.signal.aborted) return;
      this.#answer(null, [], error instanceof ApiError ? error.message : words.failed);
      // Without an answer nothing is lost; it is asked again by itself.
      this.#timer = window.setTimeout(() => void this.#ask(), 3000);
    }
  }

  #answer(plan: Plan | null, problems: readonly Problem[], error: string): void {
    this.#plan = plan;
    this.#problems = problems;
    this.#error = error;
    this.#pending = false;
    this.requestUpdate();
  }

  async #arm(plan: Plan): Promise<void> {
    const { tankId } = plan.request;
    try {
      await command(`/api/tanks/${encodeURIComponent(tankId)}/arm`, {
        plan: plan.request,
        checklist: [...this.#checked],
        continues: this.#draft.continues?.runId ?? null,
      });
      this.#draft.continues = null;
      keep(draftKey, JSON.stringify(this.#draft));
      go(addresses.run(tankId));
    } catch (error) {
      this.#error = error instanceof ApiError ? error.message : words.failed;
      this.requestUpdate();
    }
  }

  /** Why it cannot be armed; empty when it can. */
  #reason(tank: TankSnapshot | null): string {
    const { why } = words.plan;
    if (connection.state !== 'live') return why.stale;
    if (!this.#plan || this.#pending) return why.noPlan;
    if (!this.#plan.startable) return why.refused;
    if (tank && !isFree(tank)) return why.busy(tank.name);
    const open = checklistItems.length - this.#checked.size;
    return open > 0 ? why.checks(open) : '';
  }

  #origin(): unknown {
    const { continues } = this.#draft;
    if (!continues) return nothing;
    const grown = format.thickness(continues.thicknessMicrometres);
    const charge = format.ampHours(continues.ampHours);
    return html`<p class="origin">
      ${words.plan.continues} ${charge.text} ${charge.unit}, ${grown.text} ${grown.unit}
      ${words.plan.grownThere}
      <button
        type="button"
        class="quiet"
        @click=${() => this.#change((draft) => (draft.continues = null))}
      >
        ${words.plan.drop}
      </button>
    </p>`;
  }

  #picture(): unknown {
    const { request } = requestOf(this.#draft);
    try {
      const piece = this.#plan?.request.piece ?? request.piece;
      const index = this.#plan?.decidingPart ?? decidingPart(piece);
      const grown = this.#plan?.thicknessMicrometres ?? { value: 0, low: 0, high: 0 };
      const growth = pieceGrowth(request.piece);
      const rings = ringsPicture('plan', {
        section: decidingSection(piece, index),
        grown,
        targetMicrometres: grown.value || 100,
        hours: this.#plan ? plannedHours(this.#plan) : [],
        lifts: [],
        alarms: [],
      });
      return html`<figure>
        ${rings}
        <figcaption class="aside">
          ${words.plan.cut(piece.parts[index]?.label ?? '')}
          ${piece.parts.length > 1 ? words.plan.decides : nothing}
        </figcaption>
        <p class="area">
          ${words.plan.area}
          ${figure({ text: format.threeDigits(growth.areaMm2 / 100), unit: 'cm²' })}
          <span class="aside">${format.threeDigits(growth.areaMm2 / 10_000)} dm²</span>
        </p>
      </figure>`;
    } catch {
      // An entry that is not yet a size has no picture; the field says what is wrong.
      return nothing;
    }
  }

  #verdict(tank: TankSnapshot | null): TemplateResult {
    const plan = this.#plan;
    const wrong = this.#problems.filter(
      ({ field }) => !/^(piece|target|trickle|start|dens)/.test(field),
    );
    return html`<section class="verdict" aria-labelledby="verdict-title">
      <h2 id="verdict-title">${words.plan.verdict}</h2>
      ${tank ? simulatedLine(tank) : nothing}
      <p class="aside status" role="status">
        ${
          this.#error ||
          (this.#pending
            ? words.plan.waiting
            : this.#problems.length > 0
              ? words.plan.broken
              : plan && words.plan.ready)
        }
      </p>
      ${wrong.map(({ message }) => html`<p class="problem">${message}</p>`)}
      <div class=${this.#pending ? 'pending' : ''}>
        ${plan ? decisiveNumbers(plan, tank?.wallMs ?? Date.now()) : nothing}
        ${plan ? noticeList(plan.notices) : nothing} ${this.#picture()}
        ${plan ? planDetails(plan) : nothing}
      </div>
    </section>`;
  }

  #arming(tank: TankSnapshot | null): TemplateResult {
    const tick = (id: string, event: Event): void => {
      if ((event.target as HTMLInputElement).checked) this.#checked.add(id);
      else this.#checked.delete(id);
      this.requestUpdate();
    };
    return html`<section class="arming" aria-labelledby="arm-title">
      <h2 id="arm-title">${words.plan.armTitle}</h2>
      <p class="aside">${words.plan.armIntro}</p>
      ${checklistItems.map(
        ({ id, text }) =>
          html`<label class="tick">
            <input
              type="checkbox"
              .checked=${this.#checked.has(id)}
              @change=${(event: Event) => tick(id, event)}
            />
            ${text}
          </label>`,
      )}
      <p class="aside">${words.plan.armNote}</p>
      ${button(words.plan.arm, () => this.#plan && void this.#arm(this.#plan), {
        reason: this.#reason(tank),
        id: 'arm-why',
        strong: true,
      })}
    </section>`;
  }

  override render(): TemplateResult {
    const { bench } = connection;
    if (!bench) return html`${heading(words.plan.title)}`;
    const tank = connection.tank(this.#draft.tankId);
    const form: FormContext = {
      draft: this.#draft,
      bench,
      problems: this.#problems,
      change: this.#change,
    };
    return html`${heading(words.plan.title)} ${this.#origin()}
      <div class="split">
        <div class="forms">
          <piece-builder
            .draft=${this.#draft.piece}
            .problems=${this.#problems}
            .change=${this.#changePiece}
          ></piece-builder>
          ${runForm(form)}
          <button
            type="button"
            class="quiet"
            @click=${() => {
              this.#draft = newDraft();
              this.#settled = false;
              this.requestUpdate();
            }}
          >
            ${words.plan.fresh}
          </button>
        </div>
        <div class="outcome">${this.#verdict(tank)} ${this.#arming(tank)}</div>
      </div>`;
  }
}

customElements.define('piece-builder', PieceBuilder);
customElements.define('plan-page', PlanPage);
