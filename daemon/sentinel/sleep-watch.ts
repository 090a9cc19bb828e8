/** Tells a sleep of the computer from everything else that takes time; pure, so that time is an argument. */

import type { TankReport } from '../wire/process.ts';

/** Two clocks, read at the same moment, ms. */
export interface ClockPair {
  /** Since the computer was started, sleeps included. */
  readonly sinceBootMs: number;
  /** The monotonic clock, which stands still while the computer sleeps. */
  readonly awakeMs: number;
}

/** A shorter sleep is measuring noise; control's own bound is lower, so that it always acts first. */
const shortestSleepMs = 3_000;

export class SleepWatch {
  #asleepMs: number;

  constructor({ sinceBootMs, awakeMs }: ClockPair) {
    this.#asleepMs = sinceBootMs - awakeMs;
  }

  /** How long the computer slept since the last look, ms; 0 where it did not. */
  look({ sinceBootMs, awakeMs }: ClockPair): number {
    const asleepMs = sinceBootMs - awakeMs;
    const sleptMs = asleepMs - this.#asleepMs;
    this.#asleepMs = asleepMs;
    return sleptMs >= shortestSleepMs ? sleptMs : 0;
  }
}

/** After a sleep nobody knows what flowed meanwhile: control has a moment to be done with it. */
export class AfterSleep {
  readonly #graceMs: number;
  #slept: { readonly forMs: number; readonly untilMs: number } | null = null;

  constructor(graceMs: number) {
    this.#graceMs = graceMs;
  }

  woke(sleptMs: number, nowMs: number): void {
    this.#slept = { forMs: sleptMs, untilMs: nowMs + this.#graceMs };
  }

  /**
   * A sentence where an output that control has switched on is still called on after that moment, or
   * null. `reports` are of the tanks whose supply outlives a sleep; one that somebody has switched on
   * by hand is no concern of ours.
   */
  judge(
    reports: readonly Pick<TankReport, 'tankId' | 'output' | 'switchedOn'>[],
    nowMs: number,
  ): string | null {
    if (this.#slept === null) return null;
    const on = reports.find(({ output, switchedOn }) => switchedOn && output === 'on');
    if (on === undefined) {
      this.#slept = null;
      return null;
    }
    if (nowMs < this.#slept.untilMs) return null;
    const seconds = Math.round(this.#slept.forMs / 1000);
    this.#slept = null;
    return `Tank ${on.tankId}: the computer slept for ${seconds} s, and the output is still on.`;
  }
}
