/** Commits that fail: told once per spell, and a file that is held for a moment not at all. */

import type { ErrorFields } from './errors.ts';

/** A file that another program holds for so many tries in a row, of two seconds each, counts as lost. */
const mostTimesBusy = 4;

export type Listener = (reason: string) => void;

export class CommitFailures {
  readonly #failing = { readings: false, records: false };
  readonly #listeners: Listener[] = [];
  #timesBusy = 0;

  listen(listener: Listener): void {
    this.#listeners.push(listener);
  }

  /** What was tried last could not be committed. */
  get failing(): boolean {
    return this.#failing.readings || this.#failing.records;
  }

  /** Something was committed. */
  over(what: 'readings' | 'records'): void {
    this.#failing[what] = false;
    this.#timesBusy = 0;
  }

  /** Tells the listeners once per spell of failing, so that their own writes cannot feed it. */
  failed(what: 'readings' | 'records', { kind, message }: ErrorFields): void {
    // What was kept back is tried again.
    if (kind === 'busy') this.#timesBusy += 1;
    if (kind === 'busy' && this.#timesBusy < mostTimesBusy) return;
    if (this.#failing[what]) return;
    this.#failing[what] = true;
    this.tell(message);
  }

  /** Each on its own, so that one that throws keeps no other from hearing of it. */
  tell(reason: string): void {
    for (const listener of this.#listeners) queueMicrotask(() => listener(reason));
  }
}
