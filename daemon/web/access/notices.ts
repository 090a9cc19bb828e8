/** Tells the runs that are under way who came in and who was kept out; a flood of tries takes few lines. */

/** Between two lines about refusals, ms. */
const quietMs = 60_000;

export class AccessNotices {
  readonly #tell: (sentence: string) => void;
  readonly #nowMs: () => number;
  #refusedMs = -Infinity;
  #untold = 0;

  /** `nowMs` is monotonic. */
  constructor(tell: (sentence: string) => void, nowMs: () => number) {
    this.#tell = tell;
    this.#nowMs = nowMs;
  }

  came(who: string): void {
    this.#tell(`Signed in: ${who}.`);
  }

  went(who: string): void {
    this.#tell(`Signed out: ${who}.`);
  }

  /** The first at once; those that follow soon are counted and told with the next one. */
  refused(address: string): void {
    const now = this.#nowMs();
    if (now - this.#refusedMs < quietMs) {
      this.#untold += 1;
      return;
    }
    const before = this.#untold === 0 ? '' : `, after ${this.#untold} more`;
    this.#tell(`A sign-in from ${address} was refused${before}.`);
    this.#refusedMs = now;
    this.#untold = 0;
  }
}
