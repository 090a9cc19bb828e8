/** A link to an instrument in this process, in the time of the driver's clock and at no wall time. */

import { RectifierError, type DriverClock } from '../contract.ts';
import { Inbox } from './inbox.ts';
import type { Framing, Link, LinkCounters } from './link.ts';

/** A device made of code. Strings are latin1; times are the clock's ms. */
export interface Instrument {
  /** False while it is unplugged; left out, it is always there. */
  readonly attached?: boolean;
  /** Bytes reach the device, in any portions. */
  receive(bytes: string, nowMs: number): void;
  /** When the next bytes will be ready to `take`; null while nothing is due. */
  nextDueMs(): number | null;
  /** All bytes that are ready now; an empty string when there are none. */
  take(nowMs: number): string;
}

/** Looks for an unplugging at least this often while waiting, ms. */
const LOOK_MS = 50;

class InProcessLink implements Link {
  readonly name: string;
  readonly counters: LinkCounters = { bytesWritten: 0, bytesRead: 0, frames: 0, overflows: 0 };
  readonly #instrument: Instrument;
  readonly #clock: DriverClock;
  readonly #inbox: Inbox;
  #opened = false;
  #epoch = 0;
  #wake: (() => void) | null = null;

  constructor(instrument: Instrument, clock: DriverClock, framing: Framing, name: string) {
    this.name = name;
    this.#instrument = instrument;
    this.#clock = clock;
    this.#inbox = new Inbox(name, framing, this.counters);
  }

  get isOpen(): boolean {
    if (this.#instrument.attached === false) this.#opened = false;
    return this.#opened;
  }

  open(): Promise<void> {
    this.interrupt();
    this.#opened = this.#instrument.attached !== false;
    this.#inbox.clear(false);
    if (this.#opened) return Promise.resolve();
    return Promise.reject(new RectifierError('cannotOpen', `${this.name} is not plugged in.`));
  }

  write(bytes: string): Promise<void> {
    if (!this.isOpen) return Promise.reject(this.#gone());
    this.counters.bytesWritten += bytes.length;
    this.#instrument.receive(bytes, this.#clock.nowMs());
    return Promise.resolve();
  }

  drain(): Promise<void> {
    return Promise.resolve();
  }

  async next(deadlineMs: number): Promise<string> {
    const epoch = this.#epoch;
    for (;;) {
      const frame = this.take();
      if (frame !== undefined) return frame;
      if (!this.isOpen) throw this.#gone();
      const nowMs = this.#clock.nowMs();
      if (nowMs >= deadlineMs) {
        throw new RectifierError('timeout', `${this.name} gave no reply in time.`);
      }
      await this.#sleepUntil(nowMs, deadlineMs);
      if (epoch !== this.#epoch) {
        throw new RectifierError('preempted', `A request to ${this.name} gave way to OFF.`);
      }
    }
  }

  take(): string | undefined {
    if (this.isOpen) this.#pump();
    return this.#inbox.take();
  }

  async discard(quietMs: number, capMs: number): Promise<void> {
    const epoch = this.#epoch;
    const endMs = this.#clock.nowMs() + capMs;
    let quietFromMs = this.#clock.nowMs();
    for (;;) {
      const before = this.#inbox.arrivals;
      if (this.isOpen) this.#pump();
      this.#inbox.clear(false);
      const nowMs = this.#clock.nowMs();
      if (this.#inbox.arrivals !== before) quietFromMs = nowMs;
      const untilMs = Math.min(endMs, quietFromMs + quietMs);
      if (nowMs >= untilMs || !this.isOpen) return;
      await this.#sleepUntil(nowMs, untilMs);
      if (epoch !== this.#epoch) return;
    }
  }

  interrupt(): void {
    this.#epoch += 1;
    this.#wake?.();
  }

  close(): Promise<void> {
    this.#opened = false;
    this.interrupt();
    return Promise.resolve();
  }

  #pump(): void {
    const bytes = this.#instrument.take(this.#clock.nowMs());
    if (bytes !== '') this.#inbox.push(Buffer.from(bytes, 'latin1'));
  }

  /** Sleeps until bytes are due or the limit is reached, or until interrupted. */
  async #sleepUntil(nowMs: number, limitMs: number): Promise<void> {
    const dueMs = this.#instrument.nextDueMs();
    const lookMs = this.#instrument.attached === undefined ? limitMs : nowMs + LOOK_MS;
    const untilMs = Math.min(limitMs, lookMs, dueMs ?? limitMs);
    // An instrument whose due time has passed without bytes must not spin the clock.
    const durationMs = Math.max(untilMs - nowMs, dueMs !== null && dueMs <= nowMs ? 1 : 0);
    await new Promise<void>((resolve, reject) => {
      this.#wake = resolve;
      this.#clock.sleep(durationMs).then(resolve, reject);
    });
    this.#wake = null;
  }

  #gone(): RectifierError {
    const unplugged = this.#instrument.attached === false;
    const what = unplugged ? 'has been unplugged' : 'is not open';
    return new RectifierError(unplugged ? 'closed' : 'notOpen', `${this.name} ${what}.`);
  }
}

/** A link to code in this process. */
export function createInProcessLink(
  instrument: Instrument,
  clock: DriverClock,
  framing: Framing,
  name = 'the simulated supply',
): Link {
  return new InProcessLink(instrument, clock, framing, name);
}
