/**
 * Talks to a simulated instrument the way a patient host does: one line, then wait for what is
 * due.
 */

import {
  createInstrument,
  type SimulatedInstrument,
} from '../../../drivers/simulated/instrument.ts';
import type { InstrumentOptions, Personality } from '../../../drivers/simulated/model.ts';

export class Talk {
  readonly instrument: SimulatedInstrument;
  readonly #terminator: string;
  readonly #gapMs: number;
  nowMs = 0;

  constructor(options: Partial<InstrumentOptions> & { personality: Personality }) {
    this.instrument = createInstrument(options);
    const terminators = { 'vset-iset': '\r\n', 'fixed-length': '' } as const;
    this.#terminator =
      options.personality === 'vset-iset' || options.personality === 'fixed-length'
        ? terminators[options.personality]
        : '\n';
    this.#gapMs = options.personality === 'fixed-length' ? 60 : 1;
  }

  /** Sends a command and returns what came back, without its terminator; empty when nothing did. */
  ask(text: string): string {
    return this.raw(`${text}${this.#terminator}`).replace(/\r?\n$/u, '');
  }

  /** Sends bytes as they are and returns the bytes that came back while replies were due. */
  raw(bytes: string): string {
    this.nowMs += this.#gapMs;
    this.instrument.receive(bytes, this.nowMs);
    let reply = '';
    for (let looks = 0; looks < 50; looks += 1) {
      const dueMs = this.instrument.nextDueMs();
      if (dueMs === null) break;
      this.nowMs = Math.max(this.nowMs, dueMs);
      reply += this.instrument.take(this.nowMs);
    }
    return reply;
  }

  /** Sends several commands, one after another. */
  tell(...texts: readonly string[]): void {
    for (const text of texts) this.ask(text);
  }

  /** Lets time pass, in the instrument too. */
  wait(durationMs: number): this {
    this.nowMs += durationMs;
    this.instrument.truth(this.nowMs);
    return this;
  }

  get truth() {
    return this.instrument.truth(this.nowMs);
  }
}

/** A supply without meter noise, so that readings can be compared exactly. */
export const quiet = { noiseVolts: 0, noiseAmps: 0 } as const;
