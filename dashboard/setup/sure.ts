/** Two presses of one button for what cannot be undone; the second has to be a press of its own. */

/** A press so soon after the first is the same press twice, ms. */
const restMs = 700;

export class Sure {
  #asked: string | null = null;
  #askedMs = 0;

  /** Whether the next press on this one does it. */
  asks(name: string): boolean {
    return this.#asked === name;
  }

  /** True at the second press. */
  press(name: string): boolean {
    const nowMs = performance.now();
    if (!this.asks(name)) {
      [this.#asked, this.#askedMs] = [name, nowMs];
      return false;
    }
    if (nowMs - this.#askedMs < restMs) return false;
    this.#asked = null;
    return true;
  }
}
