/** One piece of work on a supply at a time: how long it is waited for, and when the next one is due. */

import type { TankClock } from './clock.ts';
import { tickPatienceFor } from './timing.ts';

export class Pace {
  readonly #clock: TankClock;
  readonly #cycleMs: () => number;
  /** Resolves to true when the work that is under way is done. */
  #work: Promise<true> | null = null;
  #beganMs = 0;

  constructor(clock: TankClock, cycleMs: () => number) {
    this.#clock = clock;
    this.#cycleMs = cycleMs;
  }

  /** Goes on with the work that is under way, or begins `next`; resolves to whether it is done by now. */
  async done(next: () => Promise<void>): Promise<boolean> {
    if (this.#work === null) {
      this.#beganMs = this.#clock.nowMs();
      this.#work = next()
        .finally(() => (this.#work = null))
        .then(() => true);
    }
    const done = this.#work;
    if (this.#clock.virtual) return done;
    const late = this.#clock.sleep(tickPatienceFor(this.#cycleMs())).then(() => false);
    return Promise.race([done, late]);
  }

  /** Until the cycle is over; not at all while the supply is still waited for. */
  rest(): Promise<void> {
    const leftMs = this.#cycleMs() - (this.#clock.nowMs() - this.#beganMs);
    return this.#clock.sleep(this.#work === null ? Math.max(1, leftMs) : 1);
  }
}
