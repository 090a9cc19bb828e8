/** One beat per completed round: every tank has judged a reading, or the lack of one, since the last. */

/**
 * Hurried tanks turn a thousand rounds a second; the sentinel needs to hear of a few. What is left out
 * makes the next silence longer by this much, and no more of it may be used up than is to spare.
 */
export const leastBeatMs = 20;

export class Heartbeat {
  readonly #waiting: Set<string>;
  readonly #tanks: readonly string[];
  readonly #beat: (tick: number) => void;
  #tick = 0;
  #lastMs = -Infinity;

  constructor(tanks: readonly string[], beat: (tick: number) => void) {
    this.#tanks = tanks;
    this.#waiting = new Set(tanks);
    this.#beat = beat;
  }

  /** A tank has completed a tick. */
  judged(tankId: string): void {
    this.#waiting.delete(tankId);
    if (this.#waiting.size > 0) return;
    const nowMs = performance.now();
    if (nowMs - this.#lastMs < leastBeatMs) return;
    this.#lastMs = nowMs;
    for (const tank of this.#tanks) this.#waiting.add(tank);
    this.#tick += 1;
    this.#beat(this.#tick);
  }
}
