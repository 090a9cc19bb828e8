/** OFF: written in the same turn of the event loop, one in flight, joined by whoever asks meanwhile. */

import type { OffReport, Rectifier } from '../../drivers/contract.ts';
import type { TankClock } from './clock.ts';
import { within } from './within.ts';

/** Between two attempts at an OFF that the supply does not confirm. */
const pauseMs = 300;

const lost = (reason: string): OffReport => ({
  confirmed: false,
  outputOn: null,
  amps: null,
  reason,
});

/** A driver that has not come back from an OFF by then has lost its way, and is asked anew. */
const lostAfterMs = 10_000;

/** `sentAtMs`: when this OFF was handed to the driver, which writes it at once. */
export type OffListener = (report: OffReport, sentAtMs: number) => void;

export class OffDesk {
  readonly #rectifier: Rectifier;
  readonly #clock: TankClock;
  readonly #report: OffListener;
  #current: Promise<boolean> | null = null;
  #failedAtMs: number | null = null;

  constructor(rectifier: Rectifier, clock: TankClock, report: OffListener) {
    this.#rectifier = rectifier;
    this.#clock = clock;
    this.#report = report;
  }

  get inFlight(): boolean {
    return this.#current !== null;
  }

  /** Resolves with whether the supply confirmed it; the report is given out first. */
  request(): Promise<boolean> {
    this.#current ??= this.#run();
    return this.#current;
  }

  async #run(): Promise<boolean> {
    const sinceFailureMs = this.#clock.nowMs() - (this.#failedAtMs ?? -Infinity);
    // Only an attempt that has just failed is waited after; an old failure delays no one.
    if (sinceFailureMs < pauseMs) await this.#clock.sleep(pauseMs - sinceFailureMs);
    const sentAtMs = this.#clock.nowMs();
    const report = await this.#off();
    this.#current = null;
    this.#failedAtMs = report.confirmed ? null : this.#clock.nowMs();
    this.#report(report, sentAtMs);
    return report.confirmed;
  }

  /** Ends in time and without throwing, whatever a driver of the maker's own does. */
  async #off(): Promise<OffReport> {
    const answer = this.#rectifier
      .off()
      .catch((error: unknown) => lost(error instanceof Error ? error.message : String(error)));
    if (this.#clock.virtual) return answer;
    const late = lost(`The driver has not come back from OFF for ${lostAfterMs / 1000} s.`);
    return within(answer, lostAfterMs, late);
  }
}
