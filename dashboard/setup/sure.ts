/** Two presses of one button for what cannot be undone; the second has to be a press of its own. */

/** A press so soon after the first is the same press twice, ms. */
const restMs = 700;

export class Sure {
  #asked = -1;
  #askedMs = 0;

  /** Whether the next press on this one does it. */
  asks(index: number): boolean {
    return this.#asked === index;
  }

  /** True at the second press. */
  press(index: number): boolean {
    const nowMs = performance.now();
    if (!this.asks(index)) {
      [this.#asked, this.#askedMs] = [index, nowMs];
      return false;
    }
    if (nowMs - this.#askedMs < restMs) return false;
    this.#asked = -1;
    return true;
  }
}
