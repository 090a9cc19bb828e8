/** Notices that the wall clock was moved: its distance to the time since boot, now and a while ago. */

import { uptime } from 'node:os';

const sampleEveryMs = 60_000;
/** Samples kept: the last ten minutes. */
const kept = 10;

export class ClockWatch {
  readonly #offsets: number[] = [ClockWatch.#offsetMs()];
  readonly #timer: NodeJS.Timeout;

  constructor() {
    this.#timer = setInterval(() => {
      this.#offsets.push(ClockWatch.#offsetMs());
      if (this.#offsets.length > kept) this.#offsets.shift();
    }, sampleEveryMs);
    this.#timer.unref();
  }

  /** The time since boot goes on while the computer sleeps, as the wall clock does. */
  static #offsetMs(): number {
    return Date.now() - uptime() * 1000;
  }

  /** By how much the wall clock was moved within the last minutes, ms; positive is forwards. */
  steppedMs(): number {
    return ClockWatch.#offsetMs() - (this.#offsets[0] ?? 0);
  }

  stop(): void {
    clearInterval(this.#timer);
  }
}
