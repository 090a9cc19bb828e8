/** The base of the ledger's pages: one save at a time, said where it is done, refused at its field. */

import { html, type PropertyDeclarations, type TemplateResult } from 'lit';
import type { Problem } from '../../daemon/piece/model.ts';
import { access } from '../access.ts';
import { ApiError } from '../api.ts';
import { LiveElement } from '../live-element.ts';
import { words } from '#words/common';

const goesOn = ':is(a,button,input,select,summary,textarea)';

export abstract class SavingPage extends LiveElement {
  static override properties: PropertyDeclarations = {
    told: { state: true },
    error: { state: true },
    busy: { state: true },
  };
  declare told: string;
  declare error: string;
  declare busy: boolean;
  /** What is wrong with what is typed, by the names of the fields on this page. */
  protected problems: readonly Problem[] = [];

  constructor() {
    super();
    this.told = '';
    this.error = '';
    this.busy = false;
    // Whoever goes on has read it, and nothing in focus may lie under it. Where what was pressed is gone,
    // the focus goes to the part around it by itself: nobody has gone on by that.
    this.addEventListener('focusin', ({ target }) => {
      if (target instanceof Element && target.matches(goesOn)) this.told = '';
    });
  }

  /** Reads anew what is saved. */
  protected abstract load(): Promise<void>;
  /** A problem that the daemon named, by the name of its field here. */
  protected abstract onPage(problem: Problem): Problem;

  /** Why nothing can be saved now; empty where it can. */
  protected get reason(): string {
    return access.whyNot('control') || (this.busy ? words.run.busy : '');
  }

  /** What is typed stays where it is refused. */
  protected async attempt(work: () => Promise<void>): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    this.error = '';
    this.told = '';
    try {
      await work();
    } catch (error) {
      this.error = error instanceof ApiError ? error.message : words.failed;
      if (error instanceof ApiError && error.status === 422 && error.problems.length > 0) {
        this.problems = error.problems.map((problem) => this.onPage(problem));
        this.error = '';
      }
      // Changed meanwhile by somebody else: what stands there now is shown beside what is typed.
      if (error instanceof ApiError && error.status === 409) await this.load();
    }
    this.busy = false;
    if (this.problems.length > 0) await this.#toFirstProblem();
  }

  /** Shows what is wrong before anything is sent; true where something is. */
  protected refused(problems: readonly Problem[]): boolean {
    this.problems = problems;
    this.requestUpdate();
    if (problems.length > 0) void this.#toFirstProblem();
    return problems.length > 0;
  }

  async #toFirstProblem(): Promise<void> {
    await this.updateComplete;
    const field = this.querySelector<HTMLElement>('[aria-invalid="true"]');
    field?.closest('details')?.setAttribute('open', '');
    field?.focus();
  }

  /** What was done, and what was not. */
  protected said(): TemplateResult {
    return html`<div class="ledger-said">
      <p role="status" class="told">${this.told}</p>
      <p class="error" role="alert">${this.error}</p>
    </div>`;
  }
}
