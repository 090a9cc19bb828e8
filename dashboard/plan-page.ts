/** The Plan page: describe a piece, read what the daemon makes of it, arm it. */

import { html, nothing, type TemplateResult } from 'lit';
import { access } from './access.ts';
import { connection } from './connection.ts';
import { heading } from './element.ts';
import type { FormContext } from './form-field.ts';
import * as format from './format.ts';
import { LiveElement } from './live-element.ts';
import { fetchInSight } from './on-demand.ts';
import { PieceBuilder } from './piece/builder.ts';
import { askForKinds } from './piece/kinds.ts';
import { armingSection, armTitleId, whyNotArmed } from './plan-arming.ts';
import { carriedBounds, type CarryOn } from './plan-carry.ts';
import { PlanDesk } from './plan-desk.ts';
import type { FoldContext, FoldName } from './plan-details.ts';
import { foldsOf, foldView, type Folding } from './plan-folds.ts';
import { runForm } from './plan-form.ts';
import { entryOf } from './plan-problems.ts';
import { statusOf } from './plan-status.ts';
import { undoTools } from './plan-undo.ts';
import {
  decisiveNumbers,
  graveNotices,
  noteSection,
  reasonsId,
  stageSection,
} from './plan-verdict.ts';
import { ringsPicture } from './rings-picture.ts';
import { addresses, go } from './route.ts';
import { simulatedLine } from './tank-lines.ts';
import { withBareUnit } from './plan-draft.ts';
import { densityUnit } from './units.ts';
import { words } from '#words/common';
import { planWords } from '#words/plan';

export class PlanPage extends LiveElement {
  static override properties = { tankId: {}, continues: {} };
  declare tankId: string | null;
  declare continues: string | null;
  readonly #desk = new PlanDesk(() => this.requestUpdate());
  readonly #checked = new Set<string>();
  /** The part whose opening was last accepted or not, until the plan answers. */
  #pressedPart: string | null = null;

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

  /** Where an opening is accepted its button gives way to another, which the keys then stay on. */
  override updated(): void {
    this.#watchArming();
    if (this.#pressedPart === null || !this.#desk.current) return;
    const part = this.#pressedPart;
    this.#pressedPart = null;
    if (document.activeElement !== document.body) return;
    const buttons = [...this.querySelectorAll<HTMLElement>('.accept')];
    buttons.find(({ dataset }) => dataset['part'] === part)?.focus();
  }

  #watched: Element | null = null;

  /** The checks of a tank are fetched once a person has come down to them, past a plan. */
  #watchArming(): void {
    const arming = this.#desk.plan === null ? null : this.querySelector('.arming');
    if (arming === this.#watched || !arming) return;
    this.#watched = arming;
    fetchInSight(arming, async () => (await import('./plan-checks.ts')).definePlanChecks());
  }

  override willUpdate(changed: Map<string, unknown>): void {
    if (changed.has('continues') && this.continues !== null) {
      void this.#carryOn(this.continues);
    }
    if (connection.bench) this.#desk.settle(connection.bench, this.tankId);
  }

  /** The address asks for it until it is done, so that a reload tries again. */
  async #carryOn(runId: string): Promise<void> {
    if ((await this.#desk.carryOn(runId)) && this.isConnected) this.#plainAddress();
  }

  #plainAddress(): void {
    history.replaceState(null, '', addresses.plan);
  }

  async #arm(): Promise<void> {
    const tankId = this.#desk.plan?.request.tankId ?? '';
    if (await this.#desk.arm([...this.#checked])) go(addresses.run(tankId));
  }

  #origin(): unknown {
    const { draft, left, carrying } = this.#desk;
    const { continues } = draft;
    const fromZero = html`<button
      type="button"
      class="quiet"
      @click=${() => {
        this.#desk.fromZero();
        this.#plainAddress();
      }}
    >
      ${planWords.drop}
    </button>`;
    if (carrying) return this.#carrying(carrying, fromZero);
    if (!continues) return nothing;
    const { pieceName, armedWallMs } = continues;
    const grown = format.thickness(left?.grownMicrometres ?? continues.thicknessMicrometres);
    const charge = format.ampHours(continues.ampHours);
    return html`<div class="origin">
      <p>
        ${
          pieceName === undefined || armedWallMs === undefined
            ? planWords.continuesUnnamed
            : planWords.continues(pieceName, format.dayAndTime(armedWallMs))
        }
        ${planWords.grownThere(
          `${format.withUnit(charge)}${carriedBounds(continues)}`,
          format.withUnit(grown),
        )}
      </p>
      ${fromZero}
    </div>`;
  }

  #carrying({ runId, error }: CarryOn, fromZero: TemplateResult): TemplateResult {
    if (error === '') {
      return html`<div class="origin">
        <p role="status">${planWords.carrying}</p>
        ${fromZero}
      </div>`;
    }
    return html`<div class="origin">
      <p class="problem" role="alert">${planWords.notCarried(error)}</p>
      <button type="button" class="quiet" @click=${() => void this.#carryOn(runId)}>
        ${words.again}
      </button>
      ${fromZero}
    </div>`;
  }

  #elsewhere(): unknown {
    if (!this.#desk.elsewhere) return nothing;
    const text = planWords.elsewhere;
    return html`<div class="origin">
      <p role="status">${text.says}</p>
      <button type="button" class="quiet" @click=${this.#desk.takeElsewhere}>${text.take}</button>
    </div>`;
  }

  /** The cut of the plan on show, or before there is one, of the piece alone. */
  #picture(): unknown {
    const { draft, plan, outlook, totals, left } = this.#desk;
    const section = outlook?.section ?? totals.whole?.section;
    // A size that cannot be has no picture; its entry says what is wrong.
    if (!section) return nothing;
    const parts = plan?.request.piece.parts ?? draft.piece.parts;
    const index = plan?.decidingPart ?? totals.whole?.decidingPart ?? 0;
    const grown = plan?.thicknessMicrometres ?? { value: 0, low: 0, high: 0 };
    const rings = ringsPicture('plan', {
      section,
      grown,
      targetMicrometres: grown.value || 100,
      // Of what an earlier run has grown only the edge is known here, not its hours.
      hours: outlook && !left ? outlook.hoursMicrometres : [],
      lifts: left ? [left.grownMicrometres] : [],
      alarms: [],
    });
    return html`<figure>
      ${rings}
      <figcaption class="aside">
        ${planWords.cut(parts[index]?.label ?? '')}
        ${parts.length > 1 ? planWords.decides : nothing}
      </figcaption>
    </figure>`;
  }

  #status(): TemplateResult {
    const { text, refused } = statusOf(this.#desk);
    return html`<p class="aside status ${refused ? 'is-refused' : ''}" role="status">
      ${text} ${refused ? html`<a href="#${reasonsId}">${planWords.seeWhy}</a>` : nothing}
    </p>`;
  }

  readonly #openFolds = new Set<FoldName>();

  #folds(form: FormContext, nowMs: number): TemplateResult {
    const { plan, outlook, left, comparing, current } = this.#desk;
    const context: FoldContext = { form, plan, outlook, left, comparing, nowMs };
    const folding: Folding = {
      open: this.#openFolds,
      toggled: (fold, open) => {
        if (open) this.#openFolds.add(fold);
        else this.#openFolds.delete(fold);
        if (fold === 'compare') this.#desk.compare(open);
        this.requestUpdate();
      },
      came: () => {
        if (this.#openFolds.has('compare')) this.#desk.compare(true);
        this.requestUpdate();
      },
    };
    const closures = outlook?.closures ?? [];
    return html`<div class="folds">
      <div class=${current ? '' : 'pending'}>
        ${foldsOf(context).map((fold) => foldView(fold, folding, context))}
        ${plan ? noteSection(plan, { form, closures }) : nothing}
      </div>
      ${foldView('compare', folding, context)} ${foldView('blank', folding, context)}
    </div>`;
  }

  /** Nothing before the first answer, which would push all of it down. */
  #outcome(form: FormContext): TemplateResult {
    if (!this.#desk.answered) return html`<div class="outcome"></div>`;
    const { draft, plan, outlook, problems, left, current } = this.#desk;
    const closures = outlook?.closures ?? [];
    const tank = connection.tank(draft.tankId);
    // What has no entry of its own is said here.
    const wrong = problems.filter(({ field }) => entryOf(field) === null);
    const lacking = access.whyNot('control');
    const reason =
      lacking ||
      whyNotArmed({
        plan: current ? plan : null,
        tank,
        live: connection.state === 'live',
        reached: left?.ampHours === 0,
        checked: this.#checked,
        carrying: this.#desk.carrying,
      });
    return html`<div class="outcome">
      <section
        class="verdict"
        aria-label=${planWords.details}
        @click=${({ target }: Event) => {
          const pressed = (target as Element).closest<HTMLElement>('.accept');
          if (pressed) this.#pressedPart = pressed.dataset['part'] ?? null;
        }}
      >
        ${wrong.map(({ message }) => html`<p class="problem">${message}</p>`)}
        <div class=${current ? '' : 'pending'}>
          ${plan ? graveNotices(plan, { form, closures }) : nothing} ${this.#picture()}
          ${plan ? stageSection(left?.stages ?? plan.stages) : nothing}
        </div>
        ${this.#folds(form, tank?.wallMs ?? Date.now())}
      </section>
      ${armingSection(
        draft.tankId,
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
      <div class=${current && plan?.startable ? '' : 'pending'}>
        ${decisiveNumbers(plan, tank?.wallMs ?? Date.now(), left)}
      </div>
      <p class="to-arming"><a href="#${armTitleId}">${planWords.toArming}</a></p>
      ${this.#status()} ${tank ? simulatedLine(tank) : nothing}
    </section>`;
  }

  override render(): TemplateResult {
    const { bench } = connection;
    if (!bench) return html`${heading(planWords.title)}`;
    const { draft, problems, current, history, step, said, change, totals } = this.#desk;
    const parts = draft.piece.parts.map(({ key }) => totals.part(key));
    const refresh = (): void => this.requestUpdate();
    const { planned: last } = this.#desk;
    const { plan, outlook } = (current ? last : null) ?? { plan: null, outlook: null };
    const written = withBareUnit(draft, densityUnit());
    const form: FormContext = { draft: written, bench, problems, change };
    return html`<div class="plan-head">
        ${heading(planWords.title)} ${undoTools(history, step, said)}
      </div>
      ${this.#elsewhere()} ${this.#origin()} ${this.#top()}
      <div class="split">
        <div class="forms">
          <piece-builder
            .draft=${draft.piece}
            .totals=${totals}
            .problems=${problems}
            .change=${this.#desk.changePiece}
            .opened=${this.#desk.openPiece}
          ></piece-builder>
          ${runForm(form, { plan, outlook, last, parts, refresh })}
          <button type="button" class="quiet" @click=${this.#desk.startAnew}>
            ${planWords.fresh}
          </button>
        </div>
        ${this.#outcome(form)}
      </div>`;
  }
}

customElements.define('piece-builder', PieceBuilder);
// No draft can be read before the kinds of part are known.
await askForKinds();
customElements.define('plan-page', PlanPage);
