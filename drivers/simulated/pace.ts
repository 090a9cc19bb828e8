/**
 * A clock that hurries a simulated tank: virtual time moves only from one sleeper's deadline to the
 * next, so a hurried night makes many ordinary ticks per wall tick and never a longer one.
 */

import { setTimeout as delay } from 'node:timers/promises';
import type { DriverClock } from '../contract.ts';
import { Heap, type Entry } from './heap.ts';

export interface PacedClockOptions {
  /** Virtual milliseconds per wall millisecond, 1 to 100000; 1 behaves like real time. */
  readonly scale: number;
  /** Wall time that belongs to virtual time 0, ms since the epoch. */
  readonly startWallMs: number;
  /** The monotonic clock that paces it, ms; a test may bring its own. */
  readonly monotonicMs?: () => number;
}

export interface PacedClock extends DriverClock {
  /** The tank's own wall clock, ms since the epoch. */
  wallMs(): number;
  readonly scale: number;
  /** Changes the pace from now on; virtual time goes on without a jump. */
  setScale(scale: number): void;
  /**
   * Keeps virtual time still until `work` has ended: for real work, such as a write to disk, that
   * takes no time on the tank. Without effect at scale 1.
   */
  hold<Value>(work: Promise<Value>): Promise<Value>;
}

/** Due at its deadline; of several the first that went to sleep wakes first. */
interface Sleeper extends Entry {
  readonly wake: () => void;
}

/** Shortest wall wait; being ahead by less is not worth a timer. */
const sliceMs = 4;
/** When further behind than this, the lost time is given up, ms. */
const lagMs = 100;
/** Timers of the runtime end at 2^31 ms; a longer wait is taken in parts. */
const longestWaitMs = 1e9;

function checkedScale(scale: number): number {
  if (scale >= 1 && scale <= 100_000) return scale;
  throw new RangeError(`scale is ${scale}; it must be from 1 to 100000`);
}

class PacedClockMachine implements PacedClock {
  readonly #sleepers = new Heap<Sleeper>();
  readonly #startWallMs: number;
  readonly #monotonicMs: () => number;
  #scale: number;
  #nowMs = 0;
  /** Where virtual and monotonic time were last tied together. */
  #anchorVirtualMs = 0;
  #anchorMonotonicMs: number;
  #order = 0;
  #running = false;
  #holds = 0;
  /** Ends the wait under way, because something earlier has come up. */
  #interrupt: AbortController | null = null;

  constructor(options: PacedClockOptions) {
    this.#scale = checkedScale(options.scale);
    this.#startWallMs = options.startWallMs;
    this.#monotonicMs = options.monotonicMs ?? (() => performance.now());
    this.#anchorMonotonicMs = this.#monotonicMs();
  }

  get scale(): number {
    return this.#scale;
  }

  nowMs(): number {
    if (this.#scale === 1) this.#nowMs = Math.max(this.#nowMs, this.#pacedMs());
    return this.#nowMs;
  }

  wallMs(): number {
    return this.#startWallMs + this.nowMs();
  }

  setScale(scale: number): void {
    const now = this.nowMs();
    this.#scale = checkedScale(scale);
    this.#tie(now);
    this.#interrupt?.abort();
  }

  sleep(durationMs: number): Promise<void> {
    const deadlineMs = this.nowMs() + Math.max(0, Number.isFinite(durationMs) ? durationMs : 0);
    return new Promise((wake) => {
      this.#order += 1;
      const sleeper = { dueMs: deadlineMs, order: this.#order, wake };
      this.#sleepers.push(sleeper);
      if (this.#sleepers.first === sleeper) this.#interrupt?.abort();
      if (!this.#running) {
        this.#running = true;
        setImmediate(() => void this.#run());
      }
    });
  }

  async hold<Value>(work: Promise<Value>): Promise<Value> {
    this.#holds += 1;
    try {
      return await work;
    } finally {
      this.#holds -= 1;
      if (this.#holds === 0) this.#interrupt?.abort();
    }
  }

  /** Where virtual time would be if it had kept the pace since the anchor. */
  #pacedMs(): number {
    return this.#anchorVirtualMs + (this.#monotonicMs() - this.#anchorMonotonicMs) * this.#scale;
  }

  #tie(virtualMs: number): void {
    this.#anchorVirtualMs = virtualMs;
    this.#anchorMonotonicMs = this.#monotonicMs();
  }

  /** Wakes sleepers in order until none is left, one for each turn of the event loop. */
  async #run(): Promise<void> {
    for (;;) {
      const first = this.#sleepers.first;
      if (first === undefined) break;
      const waitMs = this.#waitMs(first.dueMs);
      if (waitMs > 0) {
        await this.#pause(waitMs);
        continue;
      }
      this.#sleepers.pop();
      if (this.#scale === 1) this.nowMs();
      this.#nowMs = Math.max(this.#nowMs, first.dueMs);
      first.wake();
      // The sleeper goes on and may go to sleep again before anyone later is woken; and sockets,
      // files and timers of the process get their turn however much work there is.
      await new Promise((resolve) => {
        setImmediate(resolve);
      });
    }
    this.#running = false;
  }

  /** Wall time until `deadlineMs` may be reached; 0 is now. */
  #waitMs(deadlineMs: number): number {
    if (this.#scale === 1) return Math.max(0, deadlineMs - this.nowMs());
    if (this.#holds > 0) return longestWaitMs;
    const aheadMs = (deadlineMs - this.#pacedMs()) / this.#scale;
    if (aheadMs >= sliceMs) return aheadMs;
    // A burst that makes up for lost time would be faster than was asked.
    if (aheadMs < -lagMs) this.#tie(deadlineMs);
    return 0;
  }

  async #pause(waitMs: number): Promise<void> {
    const interrupt = new AbortController();
    this.#interrupt = interrupt;
    try {
      await delay(Math.min(longestWaitMs, Math.ceil(waitMs)), undefined, {
        signal: interrupt.signal,
      });
    } catch {
      // Interrupted: the caller looks again at who is first.
    } finally {
      this.#interrupt = null;
    }
  }
}

/** Makes a clock whose virtual time starts at 0 and at `startWallMs`. */
export function createPacedClock(options: PacedClockOptions): PacedClock {
  return new PacedClockMachine(options);
}
