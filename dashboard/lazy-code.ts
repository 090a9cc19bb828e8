/** Code of a page that is fetched when it is first wanted, and what stands in its place until it is there. */

import { html, nothing, type TemplateResult } from 'lit';
import { words } from '#words/common';

type Fetched = 'waiting' | 'here' | 'failed';

export class LazyCode<Code> {
  /** Null until it is there. */
  code: Code | null = null;
  #state: Fetched | null = null;
  #failures = 0;
  readonly #load: () => Promise<Code>;

  constructor(load: () => Promise<Code>) {
    this.#load = load;
  }

  /** Fetches it where it is not there; rejects where it cannot be had. */
  async fetched(): Promise<Code> {
    this.code ??= await this.#load();
    return this.code;
  }

  /** The code's view; until it is there that it loads, or that it failed, with a way to try again. */
  view(refresh: () => void, show: (code: Code) => unknown): unknown {
    if (this.code !== null) return show(this.code);
    if (this.#state === null) this.#fetch(refresh);
    return this.#state === 'failed' ? this.#failed(refresh) : waiting;
  }

  #fetch(refresh: () => void): void {
    this.#state = 'waiting';
    this.fetched().then(
      () => {
        this.#state = 'here';
        refresh();
      },
      () => {
        this.#state = 'failed';
        this.#failures += 1;
        refresh();
      },
    );
  }

  #failed(refresh: () => void): TemplateResult {
    return html`<p class="problem">${words.failed}</p>
      <button
        type="button"
        class="quiet"
        @click=${() => {
          this.#fetch(refresh);
          refresh();
        }}
      >
        ${words.again}
      </button>
      ${this.#failures > 1 ? reload : nothing}`;
  }
}

const waiting = html`<p class="aside" role="status">${words.loading}</p>`;

// A browser may keep a module that it could not fetch, and then only the page anew gets it.
const reload = html`<button type="button" class="quiet" @click=${() => location.reload()}>
  ${words.connection.reload}
</button>`;
