/** Tells from unanswered beats that the sentinel hangs; pure, so that time is an argument. */

/** So long without an answer, and nobody would switch off if this process died, ms. */
export const sentinelSilenceMs = 5_000;
/** A longer step between two looks was our own delay, of which nobody is to blame but us, ms. */
const longestStepMs = 1_000;

export class SentinelWatch {
  #unanswered = 0;
  #lookedMs: number;
  #silentMs = 0;

  constructor(startedMs: number) {
    this.#lookedMs = startedMs;
  }

  /** How many beats are on their way without an answer. */
  get unanswered(): number {
    return this.#unanswered;
  }

  beat(): void {
    this.#unanswered += 1;
  }

  heard(): void {
    this.#unanswered = Math.max(0, this.#unanswered - 1);
    this.#silentMs = 0;
  }

  /** How long beats have been without any answer, as far as this process was there to hear one, ms. */
  look(nowMs: number): number {
    const stepMs = Math.min(Math.max(0, nowMs - this.#lookedMs), longestStepMs);
    this.#lookedMs = nowMs;
    this.#silentMs = this.#unanswered === 0 ? 0 : this.#silentMs + stepMs;
    return this.#silentMs;
  }
}
