/** The Setup page: its parts, what waits to be used, and what became of a save. */

import { html, nothing, type TemplateResult } from 'lit';
import { access } from '../access.ts';
import { connection } from '../connection.ts';
import { button, heading } from '../element.ts';
import { list } from '../format.ts';
import { LiveElement } from '../live-element.ts';
import { addresses } from '../route.ts';
import { SetupDesk } from './desk.ts';
import { setupWords as say } from '#words/setup';

type Part = keyof typeof say.parts;

/** Each part is fetched when it is first gone to. */
const parts: Readonly<Record<Part, () => Promise<unknown>>> = {
  start: () => import('./overview-part.ts'),
  supply: () => import('./supply-part.ts'),
  tanks: () => import('./tanks-part.ts'),
  baths: () => import('./baths-part.ts'),
  alerts: () => import('./alerts-part.ts'),
  access: () => import('./access-part.ts'),
  units: () => import('./units-part.ts'),
};

function isPart(name: string): name is Part {
  return Object.hasOwn(parts, name);
}

/** After a log that could not be read yet, ms. */
const readAgainMs = 1_000;

export class SetupPage extends LiveElement {
  static override properties = { section: {}, turn: { state: true } };
  declare section: string;
  declare turn: number;
  readonly #desk = new SetupDesk(() => (this.turn += 1));
  #stopListening: (() => void) | null = null;
  #again = 0;

  constructor() {
    super();
    this.section = 'start';
    this.turn = 0;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    if (!access.may('control')) return;
    void this.#desk.load();
    // After a new start, and after whatever else changed the bench, the file may be another one.
    this.#stopListening = connection.listen({ bench: () => void this.#cameBack() });
  }

  async #cameBack(): Promise<void> {
    clearTimeout(this.#again);
    if ((await this.#desk.cameBack()) || !this.isConnected) return;
    // What has just been started may not read its log yet.
    clearTimeout(this.#again);
    this.#again = window.setTimeout(() => void this.#cameBack(), readAgainMs);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    this.#stopListening?.();
    clearTimeout(this.#again);
    this.#desk.leave();
  }

  override willUpdate(changed: Map<string, unknown>): void {
    if (!changed.has('section')) return;
    this.#desk.fields.clear();
    if (isPart(this.section)) void parts[this.section]();
  }

  #navigation(): TemplateResult {
    return html`<nav class="setup-nav" aria-label=${say.partsLabel}>
      ${Object.entries(say.parts).map(
        ([name, label]) =>
          html`<a
            href=${name === 'start' ? addresses.setup : addresses.setupOf(name)}
            aria-current=${name === this.section ? 'page' : 'false'}
            >${label}</a
          >`,
      )}
    </nav>`;
  }

  #waiting(): unknown {
    const { file } = this.#desk;
    if (file === null) return nothing;
    if (file.problems.length > 0) {
      return html`<section class="setup-waiting">
        <p class="error">${say.spoiled}</p>
        <ul>
          ${file.problems.map(({ message }) => html`<li class="break">${message}</li>`)}
        </ul>
      </section>`;
    }
    if (file.waiting.length === 0) return nothing;
    const { taking, running, take, title, what, why } = say.waiting;
    const busy = this.#desk.taking ? taking : '';
    const runs = file.running.length === 0 ? '' : running(list(file.running));
    return html`<section class="setup-waiting" aria-labelledby="waiting-title">
      <h2 id="waiting-title">${title}</h2>
      <p>${what(file.waiting.length)} ${why}</p>
      <details>
        <summary>${file.waiting.length === 1 ? file.waiting[0] : title}</summary>
        <ul>
          ${file.waiting.map((field) => html`<li class="break"><code>${field}</code></li>`)}
        </ul>
      </details>
      ${button(take, () => void this.#desk.takeOver(), { reason: busy || runs, id: 'take-over' })}
    </section>`;
  }

  #answers(): TemplateResult {
    const { told, error, problems, unshown, conflict } = this.#desk;
    const inFields = problems.length > 0 && unshown.length === 0;
    const text = inFields ? say.wrong(list(this.#desk.labels)) : error;
    return html`<p class="setup-told" role="status">${told}</p>
      <div role="alert">
        ${error === '' ? nothing : html`<p class="error break">${text}</p>`}
        ${
          unshown.some(({ message }) => message !== error)
            ? html`<ul>
                ${unshown.map(({ message }) => html`<li class="break">${message}</li>`)}
              </ul>`
            : nothing
        }
        ${
          conflict.length === 0
            ? nothing
            : html`<p>${say.conflictShown}</p>
                <ul>
                  ${conflict.map(({ message }) => html`<li class="break">${message}</li>`)}
                </ul>`
        }
      </div>`;
  }

  #part(): TemplateResult {
    const desk = this.#desk;
    const { turn } = this;
    switch (this.section as Part) {
      case 'supply':
        return html`<supply-part .desk=${desk} .turn=${turn}></supply-part>`;
      case 'tanks':
        return html`<tanks-part .desk=${desk} .turn=${turn}></tanks-part>`;
      case 'baths':
        return html`<baths-part .desk=${desk} .turn=${turn}></baths-part>`;
      case 'alerts':
        return html`<alerts-part .desk=${desk} .turn=${turn}></alerts-part>`;
      case 'access':
        return html`<access-part .desk=${desk} .turn=${turn}></access-part>`;
      case 'units':
        return html`<units-part .desk=${desk} .turn=${turn}></units-part>`;
      case 'start':
        return html`<overview-part .desk=${desk} .turn=${turn}></overview-part>`;
    }
    return html`<overview-part .desk=${desk} .turn=${turn}></overview-part>`;
  }

  override render(): TemplateResult {
    const title =
      isPart(this.section) && this.section !== 'start' ? say.parts[this.section] : say.title;
    if (!access.may('control')) {
      return html`${heading(say.title)}
        <p>${say.mayNot} ${access.whyNot('control')}</p>`;
    }
    const over = title === say.title ? nothing : html`<p class="aside over">${say.title}</p>`;
    return html`${over} ${heading(title)} ${this.#navigation()} ${this.#waiting()}
    ${this.#answers()}
    ${this.#desk.file === null ? html`<p class="aside">${say.reading}</p>` : this.#part()}`;
  }
}

customElements.define('setup-page', SetupPage);
