/** Whether the log can be written: what failed last, and a trial write once in a while until one works. */

import type { StoreWriter } from '../store/door.ts';

/** Between two trials, ms. */
const tryEveryMs = 5_000;

export class LogHealth {
  readonly #store: StoreWriter;
  #failure: string | null = null;
  #triedMs = -Infinity;

  constructor(store: StoreWriter) {
    this.#store = store;
    store.onFailure((reason) => (this.#failure = reason));
  }

  /** Why nothing can be written, or null. Where something failed before, it is tried again first. */
  async failure(tankId: string, wallMs: number): Promise<string | null> {
    if (this.#failure === null) return null;
    if (performance.now() - this.#triedMs < tryEveryMs) return this.#failure;
    this.#triedMs = performance.now();
    const message = 'The log can be written again.';
    const trial = { runId: null, tankId, atMs: null, wallMs, code: 'logTried', message };
    try {
      await this.#store.appendEvent(trial);
      this.#failure = null;
    } catch (error) {
      this.#failure = error instanceof Error ? error.message : String(error);
    }
    return this.#failure;
  }
}
