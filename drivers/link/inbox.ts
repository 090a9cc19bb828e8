/** Frames that have arrived and nobody has asked for yet, and the one caller waiting for the next. */

import { RectifierError } from '../contract.ts';
import { createFramer, type Framer } from './framer.ts';
import type { Framing, LinkCounters } from './link.ts';

/** More lines than this unread means that the device talks by itself. */
const MAX_WAITING_FRAMES = 64;

interface Waiter {
  resolve(frame: string): void;
  reject(error: RectifierError): void;
}

export class Inbox {
  readonly #name: string;
  readonly #framing: Framing;
  readonly #counters: LinkCounters;
  readonly #framer: Framer;
  #frames: string[] = [];
  #waitingBytes = 0;
  #overflow: string | null = null;
  #waiter: Waiter | null = null;
  #dropping = false;
  #arrivals = 0;

  constructor(name: string, framing: Framing, counters: LinkCounters) {
    this.#name = name;
    this.#framing = framing;
    this.#counters = counters;
    this.#framer = createFramer(framing, {
      onFrame: (frame) => this.#deliver(frame),
      onOverflow: () => this.#overrun(`a line longer than ${framing.maxBytes} bytes`),
    });
  }

  /** Chunks seen so far, dropped ones included; silence is this figure standing still. */
  get arrivals(): number {
    return this.#arrivals;
  }

  push(chunk: Buffer): void {
    this.#arrivals += 1;
    this.#counters.bytesRead += chunk.length;
    if (!this.#dropping) this.#framer.push(chunk);
  }

  /** A waiting frame; throws `overflow` once when the device sent more than anyone may. */
  take(): string | undefined {
    const frame = this.#frames.shift();
    if (frame !== undefined) {
      this.#waitingBytes -= frame.length;
      return frame;
    }
    const overflow = this.#overflow;
    this.#overflow = null;
    if (overflow !== null) throw this.#overflowError(overflow);
    return undefined;
  }

  /** Hands the next frame, or the failure, to this caller; a caller still waiting is preempted. */
  await(waiter: Waiter): void {
    this.interrupt();
    this.#waiter = waiter;
  }

  /** Lets go of a caller that has given up. */
  forget(waiter: Waiter): void {
    if (this.#waiter === waiter) this.#waiter = null;
  }

  interrupt(): void {
    this.fail(() => new RectifierError('preempted', `A request to ${this.#name} gave way to OFF.`));
  }

  /** Ends a wait in progress. The error is made only where somebody waits: most often nobody does. */
  fail(failure: () => RectifierError): void {
    const waiter = this.#waiter;
    if (waiter === null) return;
    this.#waiter = null;
    waiter.reject(failure());
  }

  /** Forgets everything that arrived; while `dropping`, what arrives as well. */
  clear(dropping: boolean): void {
    this.#dropping = dropping;
    this.#frames = [];
    this.#waitingBytes = 0;
    this.#overflow = null;
    this.#framer.reset();
  }

  #deliver(frame: string): void {
    this.#counters.frames += 1;
    const waiter = this.#waiter;
    if (waiter !== null) {
      this.#waiter = null;
      waiter.resolve(frame);
      return;
    }
    this.#frames.push(frame);
    this.#waitingBytes += frame.length;
    if (this.#framing.kind === 'raw' && this.#waitingBytes > this.#framing.maxBytes) {
      this.#overrun(`more than ${this.#framing.maxBytes} bytes that nobody asked for`);
    } else if (this.#frames.length > MAX_WAITING_FRAMES) {
      this.#overrun(`more than ${MAX_WAITING_FRAMES} replies that nobody asked for`);
    }
  }

  #overrun(what: string): void {
    this.#counters.overflows += 1;
    this.#frames = [];
    this.#waitingBytes = 0;
    if (this.#waiter === null) this.#overflow = what;
    else this.fail(() => this.#overflowError(what));
  }

  #overflowError(what: string): RectifierError {
    return new RectifierError('overflow', `${this.#name} sent ${what}.`);
  }
}
