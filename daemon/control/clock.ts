/** Time for one tank: the system's, or the virtual time of a simulated supply in this process. */

import { uptime } from 'node:os';
import { performance } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import type { DriverClock } from '../../drivers/contract.ts';
import { readBootClocks } from '../sentinel/door.ts';
import type { BootClocks } from '../wire/run.ts';

export interface TankClock extends DriverClock {
  /** Wall time for records, ms since the epoch; never used to measure a duration. */
  wallMs(): number;
  /** The clocks of the computer that nobody sets; null where it has none, and in virtual time. */
  bootClocks(): BootClocks | null;
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
  bootClocks: readBootClocks,
  virtual: false,
  scale: 1,
  hurry: () => {},
};

/** What flows through a shorter sleep of the computer is within the error of two readings; clocks are not as exact. */
const sleepFloorMs = 500;
/** The same where the time since boot is told in whole seconds, as in some containers. */
const coarseSleepFloorMs = 2_000;

/** Two clocks are read at one moment where the reading took no longer than this. */
const oneMomentMs = 5;

/**
 * Tells how long the computer slept since it was last asked, ms; 0 where it did not, or hardly. The
 * monotonic clock stops in suspend while the time since boot goes on, so the difference of the two is
 * the sleep itself; a step of the wall clock changes neither.
 */
export class SleepWatch {
  /** Parts of a second have been seen in the time since boot. */
  #exact = false;
  #offsetMs = this.#look();

  /** Where the computer was busy between the two clocks, it would look asleep: then they are read again. */
  #look(): number {
    for (let tries = 0; ; tries += 1) {
      const beganMs = performance.now();
      const sinceBootSeconds = uptime();
      const awakeMs = performance.now();
      this.#exact ||= !Number.isInteger(sinceBootSeconds);
      if (awakeMs - beganMs <= oneMomentMs || tries === 5) return sinceBootSeconds * 1000 - awakeMs;
    }
  }

  sleptMs(): number {
    const offsetMs = this.#look();
    const slept = offsetMs - this.#offsetMs;
    this.#offsetMs = offsetMs;
    return slept > (this.#exact ? sleepFloorMs : coarseSleepFloorMs) ? slept : 0;
  }
}
