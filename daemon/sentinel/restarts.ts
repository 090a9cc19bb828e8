/** How often control may be started again before the sentinel gives up; pure. */

export class RestartAllowance {
  readonly #most: number;
  readonly #windowMs: number;
  #startedMs: number[] = [];

  constructor(most: number, windowMs: number) {
    this.#most = most;
    this.#windowMs = windowMs;
  }

  /** Takes one restart out of the allowance; false when it is used up. */
  take(nowMs: number): boolean {
    this.#startedMs = this.#startedMs.filter((atMs) => nowMs - atMs < this.#windowMs);
    if (this.#startedMs.length >= this.#most) return false;
    this.#startedMs.push(nowMs);
    return true;
  }

  /** Pause before the restart just taken: none at first, then half a second, doubling. */
  pauseMs(): number {
    const taken = this.#startedMs.length;
    return taken <= 1 ? 0 : 500 * 2 ** (taken - 2);
  }
}
