/** OFF: written in the same turn of the event loop, one in flight, joined by whoever asks meanwhile. */

import type { OffReport, Rectifier } from '../../drivers/contract.ts';
import type { TankClock } from './clock.ts';

/** Between two attempts at an OFF that the supply does not confirm. */
const pauseMs = 300;

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
    const report = await this.#rectifier.off();
    this.#current = null;
    this.#failedAtMs = report.confirmed ? null : this.#clock.nowMs();
    this.#report(report, sentAtMs);
    return report.confirmed;
  }
}
