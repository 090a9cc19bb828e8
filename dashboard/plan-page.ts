/** The Plan page: describe a piece, read what the daemon makes of it, arm it. */

import { html, nothing, type TemplateResult } from 'lit';
import type { PieceDescription } from '../daemon/piece/model.ts';
import { decidingPart, pieceProblems } from '../daemon/piece/piece.ts';
import { connection } from './connection.ts';
import { heading } from './element.ts';
import type { FormContext } from './form-field.ts';
import * as format from './format.ts';
import { LiveElement } from './live-element.ts';
import { PieceBuilder } from './piece/builder.ts';
import { armingSection, whyNotArmed } from './plan-arming.ts';
import { blankSection } from './plan-blank.ts';
import { compareSection } from './plan-compare.ts';
import { PlanDesk } from './plan-desk.ts';
import { doubtSection } from './plan-doubt.ts';
import { evennessSection } from './plan-evenness.ts';
import { runForm } from './plan-form.ts';
import { entryOf } from './plan-problems.ts';
import { sizesSection } from './plan-sizes.ts';
import { undoTools } from './plan-undo.ts';
import {
  decisiveNumbers,
  graveNotices,
  limitsSection,
  noteSection,
  stageSection,
} from './plan-verdict.ts';
import { plannedHours } from './planned-hours.ts';
import { ringsPicture } from './rings-picture.ts';
import { addresses, go } from './route.ts';
import { decidingSection } from './runs.ts';
import { simulatedLine } from './tank-face.ts';
import { planWords } from './words-plan.ts';

export class PlanPage extends LiveElement {
  static override properties = { tankId: {}, continues: {} };
  declare tankId: string | null;
  declare continues: string | null;
  readonly #desk = new PlanDesk(() => this.requestUpdate());
  readonly #checked = new Set<string>();

  constructor() {
    super();
    this.tankId = null;
    this.continues = null;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    this.#desk.start();
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#desk.stop();
  }

  override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('continues') && this.continues !== null) {
      void this.#desk
        .carryOn(this.continues)
        .then(() => history.replaceState(null, '', addresses.plan));
    }
    if (connection.bench) this.#desk.settle(connection.bench, this.tankId);
  }

  async #arm(): Promise<void> {
    const tankId = this.#desk.plan?.request.tankId ?? '';
    if (await this.#desk.arm([...this.#checked])) go(addresses.run(tankId));
  }

  #origin(): unknown {
    const { draft, left, change } = this.#desk;
    const { continues } = draft;
    if (!continues) return nothing;
    const grown = format.thickness(left?.grownMicrometres ?? continues.thicknessMicrometres);
    const charge = format.ampHours(continues.ampHours);
    return html`<div class="origin">
      <p>
        ${planWords.continues} ${charge.text} ${charge.unit}, ${grown.text} ${grown.unit}
        ${planWords.grownThere}
      </p>
      <button
        type="button"
        class="quiet"
        @click=${() => change((target) => (target.continues = null), planWords.drop)}
      >
        ${planWords.drop}
      </button>
    </div>`;
  }

  #picture(piece: PieceDescription): unknown {
    const { plan, left } = this.#desk;
    // A size that cannot be has no picture; its entry says what is wrong.
    if (!plan && pieceProblems(piece).length > 0) return nothing;
    try {
      const drawn = plan?.request.piece ?? piece;
      const index = plan?.decidingPart ?? decidingPart(drawn);
      const grown = plan?.thicknessMicrometres ?? { value: 0, low: 0, high: 0 };
      const rings = ringsPicture('plan', {
        section: decidingSection(drawn, index),
        grown,
        targetMicrometres: grown.value || 100,
        // Of what an earlier run has grown only the edge is known here, not its hours.
        hours: plan && !left ? plannedHours(plan) : [],
        lifts: left ? [left.grownMicrometres] : [],
        alarms: [],
      });
      return html`<figure>
        ${rings}
        <figcaption class="aside">
          ${planWords.cut(drawn.parts[index]?.label ?? '')}
          ${drawn.parts.length > 1 ? planWords.decides : nothing}
        </figcaption>
      </figure>`;
    } catch {
      // An entry that is not yet a size has no picture; the field says what is wrong.
      return nothing;
    }
  }

  #status(): string {
    const { error, pending, problems, plan } = this.#desk;
    if (error) return error;
    if (pending) return planWords.waiting;
    if (problems.length === 0) return plan ? planWords.ready : '';
    return plan ? planWords.broken : planWords.brokenFirst;
  }

  #folds(form: FormContext, nowMs: number): TemplateResult {
    const { plan, left, comparing, current } = this.#desk;
    const toggled = (open: boolean): void => this.#desk.compare(open);
    const leftMsAt = comparing.open ? this.#desk.leftMsAt() : null;
    return html`<div class="folds">
      <div class=${current ? '' : 'pending'}>
        ${
          plan
            ? html`${sizesSection(plan)} ${evennessSection(plan)} ${doubtSection(plan)}
              ${limitsSection(plan, left)} ${noteSection(plan, form)}`
            : nothing
        }
      </div>
      ${compareSection(form, { comparing, nowMs, toggled, leftMsAt })} ${blankSection(form, plan)}
    </div>`;
  }

  #outcome(form: FormContext, piece: PieceDescription): TemplateResult {
    const { draft, plan, problems, left, current } = this.#desk;
    const tank = connection.tank(draft.tankId);
    // What has no entry of its own is said here.
    const wrong = problems.filter(({ field }) => entryOf(field) === null);
    const reason = whyNotArmed({
      plan: current ? plan : null,
      tank,
      live: connection.state === 'live',
      reached: left?.ampHours === 0,
      checked: this.#checked,
    });
    return html`<div class="outcome">
      <section class="verdict" aria-label=${planWords.details}>
        ${wrong.map(({ message }) => html`<p class="problem">${message}</p>`)}
        <div class=${current ? '' : 'pending'}>
          ${plan ? graveNotices(plan, form) : nothing} ${this.#picture(piece)}
          ${plan ? stageSection(left?.stages ?? plan.stages) : nothing}
        </div>
        ${this.#folds(form, tank?.wallMs ?? Date.now())}
      </section>
      ${armingSection(
        this.#checked,
        () => this.requestUpdate(),
        reason,
        () => void this.#arm(),
      )}
    </div>`;
  }

  #top(): TemplateResult {
    const { draft, plan, left, current } = this.#desk;
    const tank = connection.tank(draft.tankId);
    return html`<section class="plan-top" aria-labelledby="verdict-title">
      <h2 id="verdict-title" class="unseen">${planWords.verdict}</h2>
      <div class=${current ? '' : 'pending'}>
        ${decisiveNumbers(plan, tank?.wallMs ?? Date.now(), left)}
      </div>
      <p class="aside status" role="status">${this.#status()}</p>
      ${tank ? simulatedLine(tank) : nothing}
    </section>`;
  }

  override render(): TemplateResult {
    const { bench } = connection;
    if (!bench) return html`${heading(planWords.title)}`;
    const { draft, plan, problems, current, history, step, said, change } = this.#desk;
    const { piece } = this.#desk.asked().request;
    const form: FormContext = { draft, bench, problems, change };
    return html`<div class="plan-head">
        ${heading(planWords.title)} ${undoTools(history, step, said)}
      </div>
      ${this.#origin()} ${this.#top()}
      <div class="split">
        <div class="forms">
          <piece-builder
            .draft=${draft.piece}
            .problems=${problems}
            .change=${this.#desk.changePiece}
          ></piece-builder>
          ${runForm(form, { plan: current ? plan : null, piece })}
          <button type="button" class="quiet" @click=${this.#desk.startAnew}>
            ${planWords.fresh}
          </button>
        </div>
        ${this.#outcome(form, piece)}
      </div>`;
  }
}

customElements.define('piece-builder', PieceBuilder);
customElements.define('plan-page', PlanPage);
