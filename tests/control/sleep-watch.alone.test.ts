/** A sleep of the computer is told from clocks that are coarse, and from a computer that is busy. */

import { beforeEach, describe, expect, it, vi } from 'vitest';
import { SleepWatch } from '../../daemon/control/clock.ts';

const clocks = vi.hoisted(() => ({
  sinceBootMs: 0,
  awakeMs: 0,
  wholeSeconds: false,
  /** What passes between the two clocks, the next time they are read, ms. */
  busyMs: 0,
}));

vi.mock('node:os', () => ({
  uptime: () => {
    const seconds = Math.floor(clocks.sinceBootMs / 10) / 100;
    clocks.sinceBootMs += clocks.busyMs;
    clocks.awakeMs += clocks.busyMs;
    clocks.busyMs = 0;
    return clocks.wholeSeconds ? Math.floor(seconds) : seconds;
  },
}));
vi.mock('node:perf_hooks', () => ({ performance: { now: () => clocks.awakeMs } }));

function pass(ms: number, asleepMs = 0): void {
  clocks.awakeMs += ms;
  clocks.sinceBootMs += ms + asleepMs;
}

beforeEach(() => {
  Object.assign(clocks, { sinceBootMs: 500_123, awakeMs: 1_000, wholeSeconds: false, busyMs: 0 });
});

describe('a sleep of the computer', () => {
  it.each([600, 1_300, 60_000, 8 * 3_600_000])('of %i ms is told', (asleepMs) => {
    const watch = new SleepWatch();
    pass(250);
    expect(watch.sleptMs()).toBe(0);
    pass(250, asleepMs);
    expect(Math.abs(watch.sleptMs() - asleepMs)).toBeLessThanOrEqual(10);
    pass(250);
    expect(watch.sleptMs()).toBe(0);
  });

  it('is not a computer that is busy between the two clocks', () => {
    const watch = new SleepWatch();
    for (let round = 0; round < 40; round += 1) {
      pass(250);
      clocks.busyMs = round % 2 === 0 ? 900 : 0;
      expect(watch.sleptMs()).toBe(0);
    }
  });

  it('is not a clock of whole seconds that goes on by one, and is told from 3 s on by such a clock', () => {
    clocks.wholeSeconds = true;
    const watch = new SleepWatch();
    for (let round = 0; round < 40; round += 1) {
      pass(250);
      expect(watch.sleptMs()).toBe(0);
    }
    pass(250, 3_100);
    expect(watch.sleptMs()).toBeGreaterThan(2_000);
  });
});
