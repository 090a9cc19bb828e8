/** Notices a database thread that is alive but mute, say in a disk that never returns. */

const ticks = 10;

/**
 * It counts its own ticks and not the clock: after this whole process was stopped and goes on, only
 * one passed.
 */
export class StallWatch {
  readonly #stallMs: number;
  readonly #isIdle: () => boolean;
  readonly #onStalled: () => void;
  #timer: NodeJS.Timeout | undefined;
  #silentTicks = 0;

  /** `stallMs` is how long the thread may leave something unanswered. */
  constructor(stallMs: number, isIdle: () => boolean, onStalled: () => void) {
    this.#stallMs = stallMs;
    this.#isIdle = isIdle;
    this.#onStalled = onStalled;
  }

  /** The thread said something. */
  heard(): void {
    this.#silentTicks = 0;
  }

  /** Something is asked of the thread; the watch ends by itself once nothing is. */
  start(): void {
    if (this.#timer !== undefined) return;
    this.#silentTicks = 0;
    this.#timer = setInterval(() => this.#look(), this.#stallMs / ticks);
    this.#timer.unref();
  }

  stop(): void {
    clearInterval(this.#timer);
    this.#timer = undefined;
  }

  #look(): void {
    if (this.#isIdle()) {
      this.stop();
      return;
    }
    this.#silentTicks += 1;
    if (this.#silentTicks >= ticks) this.#onStalled();
  }
}
