/** The Bench page: every tank now, and on the first visit how it all works. */

import { html, nothing, type TemplateResult } from 'lit';
import type { TankSnapshot } from '../daemon/wire/bench.ts';
import { access } from './access.ts';
import { ApiError, command } from './api.ts';
import { connection } from './connection.ts';
import { button, heading } from './element.ts';
import { interruptedRuns } from './interrupted-runs.ts';
import { putIntroductionAway, wasIntroduced } from './introduction.ts';
import { LiveElement } from './live-element.ts';
import { addresses, go } from './route.ts';
import { tankFace } from './tank-face.ts';
import { isFree } from './tank-lines.ts';
import { words } from '#words/common';
import { benchWords } from '#words/bench';

export class BenchPage extends LiveElement {
  static override properties = { introduced: { state: true }, error: { state: true } };
  declare introduced: boolean;
  declare error: string;

  constructor() {
    super();
    this.introduced = wasIntroduced();
    this.error = '';
  }

  #putAway(): void {
    putIntroductionAway();
    this.introduced = true;
  }

  async #demo(tank: TankSnapshot): Promise<void> {
    this.error = '';
    try {
      await command(`/api/tanks/${encodeURIComponent(tank.id)}/demo`);
      putIntroductionAway();
      go(addresses.run(tank.id));
    } catch (error) {
      this.error = error instanceof ApiError ? error.message : words.failed;
    }
  }

  #actions(tank: TankSnapshot): TemplateResult {
    const link = (address: string, label: string): TemplateResult =>
      html`<a class="press-link" href=${address}>${label}</a>`;
    const toRun = tank.run?.lifecycle === 'armed' ? benchWords.start : benchWords.look;
    return html`${tank.run ? link(addresses.run(tank.id), toRun) : nothing}
    ${isFree(tank) ? link(addresses.planOn(tank.id), benchWords.planHere) : nothing}
    ${link(addresses.ledgerOf(tank.id, tank.bathId), benchWords.bath)}
    ${isFree(tank) && tank.simulated && this.introduced ? this.#demoButton(tank) : nothing}`;
  }

  #demoButton(tank: TankSnapshot): TemplateResult {
    const reason = access.whyNot('control') || (connection.state === 'live' ? '' : words.run.stale);
    const strong = !this.introduced;
    return button(benchWords.demo, () => void this.#demo(tank), {
      reason,
      id: `demo-${tank.id}`,
      strong,
    });
  }

  #introduction(tanks: readonly TankSnapshot[]): unknown {
    if (this.introduced) return nothing;
    const free = tanks.find((tank) => tank.simulated && isFree(tank));
    return html`<section class="intro" aria-labelledby="intro-title">
      <h2 id="intro-title">${benchWords.firstTitle}</h2>
      <ol>
        ${benchWords.steps.map(
          ([title, text]) => html`<li><strong>${title}</strong><span>${text}</span></li>`,
        )}
      </ol>
      <h3><a href=${addresses.cautions}>${words.cautions.title}</a></h3>
      <ul class="cautions">
        ${words.cautions.list.map((caution) => html`<li>${caution}</li>`)}
      </ul>
      <div class="actions">
        ${
          free
            ? html`${this.#demoButton(free)}<span class="aside">${benchWords.demoNote}</span>`
            : nothing
        }
        ${button(benchWords.putAway, () => this.#putAway())}
      </div>
    </section>`;
  }

  override render(): TemplateResult {
    const tanks = connection.bench?.tanks ?? [];
    return html`<div class="bench-head">
        ${heading(benchWords.title)} <a href=${addresses.night}>${benchWords.night}</a>
      </div>
      ${interruptedRuns()} ${this.#introduction(tanks)}
      <p class="error" role="alert">${this.error}</p>
      <div class="tanks">${tanks.map((tank) => tankFace(tank, this.#actions(tank)))}</div>
      ${
        tanks.length === 0 && connection.bench
          ? html`<p class="aside">${benchWords.noTanks}</p>`
          : nothing
      }`;
  }
}

customElements.define('bench-page', BenchPage);
