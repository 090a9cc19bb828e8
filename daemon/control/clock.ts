/** Time for one tank: the system's, or the virtual time of a simulated supply in this process. */

import { uptime } from 'node:os';
import { performance } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import type { DriverClock } from '../../drivers/contract.ts';

export interface TankClock extends DriverClock {
  /** Wall time for records, ms since the epoch; never used to measure a duration. */
  wallMs(): number;
  /** True where time passes only by sleeping: nothing may then be raced against a timer. */
  readonly virtual: boolean;
  /** How many times faster than the wall this clock runs. */
  readonly scale: number;
  /** Changes the pace; no effect on the system's clock. */
  hurry(scale: number): void;
}

export const realClock: TankClock = {
  nowMs: () => performance.now(),
  sleep: (durationMs) => wait(durationMs),
  wallMs: () => Date.now(),
  virtual: false,
  scale: 1,
  hurry: () => {},
};

/** A sleep of the computer shorter than this is measuring noise. */
const sleepFloorMs = 2_000;

/**
 * Tells how long the computer slept since it was last asked, ms; 0 where it did not, or hardly. The
 * monotonic clock stops in suspend while the time since boot goes on, so the difference of the two is
 * the sleep itself; a step of the wall clock changes neither.
 */
export class SleepWatch {
  #offsetMs = SleepWatch.#now();

  static #now(): number {
    return uptime() * 1000 - performance.now();
  }

  sleptMs(): number {
    const offsetMs = SleepWatch.#now();
    const slept = offsetMs - this.#offsetMs;
    this.#offsetMs = offsetMs;
    return slept > sleepFloorMs ? slept : 0;
  }
}
