/** The weigh-in of one run: what was weighed, what follows, and what it offers to bath and piece. */

import { html, nothing, type TemplateResult } from 'lit';
import type { Problem } from '../../daemon/piece/model.ts';
import type { WeighIn } from '../../daemon/run/weigh-in/model.ts';
import type { RunRecord } from '../../daemon/wire/run.ts';
import type { SavedWeighIn, WeighInView } from '../../daemon/wire/weigh-in.ts';
import { read } from '../api.ts';
import { button, heading } from '../element.ts';
import { addresses } from '../route.ts';
import { keep, kept } from '../theme.ts';
import { words } from '#words/common';
import { dayAndTime as when } from '../format.ts';
import { offersView, type Offers } from './offers-view.ts';
import { readWeighIn, readWeighInVersions, saveWeighIn } from './ledger-api.ts';
import { asOnPage, draftFrom, draftOf, weighInOf, type WeighInDraft } from './weigh-in-draft.ts';
import { weighInForm } from './weigh-in-form.ts';
import { SavingPage } from './saving-page.ts';
import type { Taken } from './weigh-in-offers.ts';
import { weighInResult } from './weigh-in-result.ts';
import { weighInWords as say } from '#words/ledger';

const keyOf = (runId: string): string => `nightbath.weigh-in.${runId}`;

export class WeighInPage extends SavingPage {
  static override properties = {
    runId: {},
    view: { state: true },
    draft: { state: true },
    versions: { state: true },
  };
  declare runId: string;
  declare view: WeighInView | null;
  declare draft: WeighInDraft;
  declare versions: readonly SavedWeighIn[];
  #pieceName = '';
  #dirty = false;
  /** What stood there before the last save; undefined where there is nothing to undo. */
  #before: WeighIn | null | undefined;
  #taken: Partial<Record<'bath' | 'piece', Taken>> = {};

  constructor() {
    super();
    this.runId = '';
    this.view = null;
    this.draft = draftOf(null);
    this.versions = [];
  }

  override willUpdate(changed: Map<string, unknown>): void {
    if (!changed.has('runId') || this.runId === '') return;
    this.view = null;
    this.#before = undefined;
    this.#taken = {};
    void this.attempt(async () => {
      const record = await read<RunRecord>(`/api/runs/${encodeURIComponent(this.runId)}`);
      this.#pieceName = record.plan.request.piece.name;
      await this.load();
      const typed = draftFrom(kept(keyOf(this.runId)));
      this.#dirty = typed !== null;
      this.draft = typed ?? draftOf(this.view?.saved?.weighIn ?? null);
    });
  }

  protected override async load(): Promise<void> {
    this.view = await readWeighIn(this.runId);
    this.versions = await readWeighInVersions(this.runId);
  }

  protected override onPage(problem: Problem): Problem {
    return asOnPage(problem, this.draft);
  }

  readonly #change = (part: Partial<WeighInDraft>): void => {
    this.draft = { ...this.draft, ...part };
    this.problems = [];
    this.#dirty = true;
    keep(keyOf(this.runId), JSON.stringify(this.draft));
  };

  #store(weighIn: WeighIn | null, told: string): Promise<void> {
    return this.attempt(async () => {
      const saved = this.view?.saved ?? null;
      this.view = await saveWeighIn(this.runId, saved?.version ?? 0, weighIn);
      this.#before = saved?.weighIn ?? null;
      this.draft = draftOf(weighIn);
      this.#dirty = false;
      keep(keyOf(this.runId), '');
      this.told = told;
      this.versions = await readWeighInVersions(this.runId);
    });
  }

  #save(): void {
    const { weighIn, problems } = weighInOf(this.draft);
    if (!this.refused(problems)) void this.#store(weighIn, say.saved);
  }

  #undo(): void {
    const before = this.#before ?? null;
    // Undone again, what was saved last comes back.
    void this.#store(before, say.undone);
  }

  #take(which: 'bath' | 'piece', work: () => Promise<Taken>): void {
    void this.attempt(async () => {
      this.#taken = { ...this.#taken, [which]: await work() };
      await this.load();
    });
  }

  #takeBack(which: 'bath' | 'piece'): void {
    void this.attempt(async () => {
      const told = await this.#taken[which]?.undo?.();
      this.#taken = { ...this.#taken, [which]: { told: told ?? '', undo: null } };
      await this.load();
    });
  }

  #actions(view: WeighInView): TemplateResult {
    const reason = this.reason;
    const standing = view.saved?.weighIn ?? null;
    return html`<div class="actions">
        ${button(say.save, () => this.#save(), { reason, id: 'save-why', strong: true })}
        ${
          this.#before === undefined
            ? nothing
            : button(say.undo, () => this.#undo(), { reason, id: 'undo-why' })
        }
        ${
          standing === null
            ? nothing
            : button(say.takeBack, () => void this.#store(null, say.tookBack), {
                reason,
                id: 'back-why',
              })
        }
      </div>
      <p class="aside">
        ${
          view.saved === null
            ? nothing
            : say.savedBy(view.saved.version, view.saved.by, when(view.saved.savedWallMs))
        }
        ${this.#dirty ? say.notSaved : nothing}
      </p>`;
  }

  #history(): unknown {
    if (this.versions.length < 2) return nothing;
    return html`<details>
      <summary><h2>${say.history}</h2></summary>
      <ul class="versions">
        ${this.versions.map(
          ({ version, by, savedWallMs, weighIn }) =>
            html`<li>
              ${say.savedBy(version, by, when(savedWallMs))}
              <span class="aside">${say.versionText(weighIn)}</span>
            </li>`,
        )}
      </ul>
    </details>`;
  }

  override render(): TemplateResult {
    const { view } = this;
    if (view === null) {
      return html`${heading(say.nav)}
        <p class="error" role="alert">${this.error}</p>
        ${this.error === '' ? html`<p>${words.loading}</p>` : nothing}`;
    }
    const { hasHangers, carriesOn, tankId, bathId, bathName } = view;
    const offers: Offers = {
      view,
      taken: this.#taken,
      reason: this.reason,
      take: (which, work) => this.#take(which, work),
      undo: (which) => this.#takeBack(which),
    };
    return html`<p class="aside over">
        <a href=${addresses.replay(this.runId)}>${say.toRun}</a> ·
        <a href=${addresses.report(this.runId)}>${say.toReport}</a> ·
        <a href=${addresses.ledgerOf(tankId, bathId)}>${bathName}</a>
      </p>
      ${heading(say.title(this.#pieceName))}
      <p class="aside">${say.explain}</p>
      ${this.said()}
      <div class="split">
        <form
          class="weigh-in"
          @submit=${(event: Event) => {
            event.preventDefault();
            this.#save();
          }}
        >
          ${weighInForm({
            draft: this.draft,
            problems: this.problems,
            hasHangers,
            carriesOn,
            change: this.#change,
          })}
          ${this.#actions(view)}
        </form>
        <div>
          <section aria-labelledby="result-title">
            <h2 id="result-title">${say.result}</h2>
            ${weighInResult(view)}
          </section>
          ${offersView(offers)} ${this.#history()}
        </div>
      </div>`;
  }
}

customElements.define('weigh-in-page', WeighInPage);
