/** Decides from beats and the clock whether control hangs; pure, so that time is an argument. */

import { silenceFor, type Budgets } from './budgets.ts';

/** Verdict of one look; `hung` carries how long nothing was heard. */
export type BeatVerdict =
  { readonly kind: 'well' } | { readonly kind: 'hung'; readonly silentMs: number };

const well: BeatVerdict = { kind: 'well' };

export class BeatWatch {
  readonly #budgets: Budgets;
  #heardMs: number;
  #lookedMs: number;
  #ready = false;
  #graceUntilMs = -Infinity;
  /** What the slowest tank needs by its driver's own word; the settings may know less. */
  #neededMs = 0;

  constructor(budgets: Budgets, startedMs: number) {
    this.#budgets = budgets;
    this.#heardMs = startedMs;
    this.#lookedMs = startedMs;
  }

  /** A tank takes so long for a cycle: a beat that waits for it is no hang. */
  allow(cycleMs: number): void {
    this.#neededMs = Math.max(this.#neededMs, silenceFor(cycleMs));
  }

  /** The silence that counts as a hang while a line is guarded, ms. */
  get guardedSilenceMs(): number {
    return Math.max(this.#budgets.guardedSilenceMs, this.#neededMs);
  }

  ready(nowMs: number): void {
    this.#ready = true;
    this.#heardMs = nowMs;
  }

  /** A round of ticks was judged. */
  beat(nowMs: number): void {
    this.#heardMs = nowMs;
  }

  /** How long nothing was heard, ms. */
  silentMs(nowMs: number): number {
    return nowMs - this.#heardMs;
  }

  /**
   * When this process itself was held up, beats may be waiting unread behind the look: one more
   * short while is given for them before control is blamed for our own delay.
   */
  look(nowMs: number, guarded: boolean): BeatVerdict {
    const { lookEveryMs, startUpMs, idleSilenceMs } = this.#budgets;
    if (nowMs - this.#lookedMs > 4 * lookEveryMs) this.#graceUntilMs = nowMs + 4 * lookEveryMs;
    this.#lookedMs = nowMs;
    const silentMs = nowMs - this.#heardMs;
    const looping = guarded ? this.guardedSilenceMs : Math.max(idleSilenceMs, 2 * this.#neededMs);
    const allowedMs = this.#ready ? looping : startUpMs;
    if (silentMs <= allowedMs || nowMs < this.#graceUntilMs) return well;
    return { kind: 'hung', silentMs };
  }
}
