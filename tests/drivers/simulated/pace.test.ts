/**
 * The hurried clock: virtual time moves only by sleeping, in order, and never faster than asked.
 */

import { describe, expect, it } from 'vitest';
import { createPacedClock } from '../../../drivers/simulated/pace.ts';

/** A monotonic clock that a test moves by hand. */
function handClock(): { readMs: () => number; nowMs: number } {
  const clock = { nowMs: 0, readMs: () => clock.nowMs };
  return clock;
}

function wallWait(durationMs: number): Promise<string> {
  return new Promise((resolve) => {
    setTimeout(() => resolve('asleep'), durationMs);
  });
}

describe('a hurried clock', () => {
  it('starts at 0 and moves only by sleeping, by exactly what was slept', async () => {
    const clock = createPacedClock({ scale: 1000, startWallMs: 1_700_000_000_000 });
    expect(clock.nowMs()).toBe(0);
    await wallWait(15);
    expect(clock.nowMs()).toBe(0);
    for (let tick = 1; tick <= 40; tick += 1) {
      await clock.sleep(250);
      expect(clock.nowMs()).toBe(tick * 250);
    }
    expect(clock.wallMs()).toBe(1_700_000_010_000);
  });

  it('wakes sleepers by their deadlines and equal ones in the order they came', async () => {
    const clock = createPacedClock({ scale: 100_000, startWallMs: 0 });
    const woken: string[] = [];
    async function sleeper(name: string, durationMs: number): Promise<void> {
      await clock.sleep(durationMs);
      woken.push(`${name}@${clock.nowMs()}`);
    }
    await Promise.all([
      sleeper('d', 30),
      sleeper('a', 10),
      sleeper('b', 20),
      sleeper('c', 20),
      sleeper('now', 0),
      sleeper('odd', Number.NaN),
    ]);
    expect(woken).toEqual(['now@0', 'odd@0', 'a@10', 'b@20', 'c@20', 'd@30']);
  });

  it('keeps many sleepers in order', async () => {
    const clock = createPacedClock({ scale: 100_000, startWallMs: 0 });
    const seen: number[] = [];
    const durations = Array.from({ length: 300 }, (_, index) => (index * 7919) % 997);
    await Promise.all(
      durations.map(async (durationMs) => {
        await clock.sleep(durationMs);
        seen.push(durationMs);
        expect(clock.nowMs()).toBe(durationMs);
      }),
    );
    expect(seen).toEqual(durations.toSorted((left, right) => left - right));
  });

  it('lets a woken sleeper go on first: a short reply beats a long time-out', async () => {
    const clock = createPacedClock({ scale: 100_000, startWallMs: 0 });
    async function reply(): Promise<string> {
      for (let look = 0; look < 20; look += 1) await clock.sleep(5);
      return 'reply';
    }
    const timeout = clock.sleep(1000).then(() => 'timeout');
    expect(await Promise.race([reply(), timeout])).toBe('reply');
    expect(clock.nowMs()).toBe(100);
    expect(await timeout).toBe('timeout');
  });

  it('waits in wall time when it is ahead', async () => {
    const clock = createPacedClock({ scale: 10, startWallMs: 0 });
    const beganMs = performance.now();
    for (let tick = 0; tick < 4; tick += 1) await clock.sleep(250);
    // 1000 virtual ms at ten to one are 100 wall ms, less the slice it may be ahead.
    expect(performance.now() - beganMs).toBeGreaterThan(90);
  });

  it('does not make up for lost time in a burst', async () => {
    const wall = handClock();
    const clock = createPacedClock({ scale: 100, startWallMs: 0, monotonicMs: wall.readMs });
    await clock.sleep(10);
    wall.nowMs = 60_000;
    await clock.sleep(10);
    expect(clock.nowMs()).toBe(20);
    // Had it kept the lost minute, a whole virtual hour would now be free.
    const hour = clock.sleep(60_000).then(() => 'woken');
    expect(await Promise.race([hour, wallWait(20)])).toBe('asleep');
    wall.nowMs += 700;
    clock.setScale(100_000);
    await clock.sleep(1);
    expect(clock.nowMs()).toBe(21);
  });

  it('leaves the event loop its turn however long it runs', async () => {
    const clock = createPacedClock({ scale: 100_000, startWallMs: 0 });
    let turns = 0;
    let running = true;
    function turn(): void {
      turns += 1;
      if (running) setImmediate(turn);
    }
    setImmediate(turn);
    for (let tick = 0; tick < 500; tick += 1) await clock.sleep(1);
    running = false;
    expect(turns).toBeGreaterThanOrEqual(499);
  });

  it('stands still while real work is held, and goes on after it', async () => {
    const clock = createPacedClock({ scale: 100_000, startWallMs: 0 });
    const stale = clock.sleep(5000);
    const held = clock.hold(
      new Promise<string>((resolve) => {
        setTimeout(() => resolve('written'), 30);
      }),
    );
    expect(await held).toBe('written');
    expect(clock.nowMs()).toBe(0);
    await stale;
    expect(clock.nowMs()).toBe(5000);
    await expect(clock.hold(Promise.reject(new Error('disk full')))).rejects.toThrow('disk full');
    await clock.sleep(1);
    expect(clock.nowMs()).toBe(5001);
  });

  it('changes its pace without a jump', async () => {
    const clock = createPacedClock({ scale: 1000, startWallMs: 0 });
    await clock.sleep(500);
    clock.setScale(2000);
    expect(clock.nowMs()).toBe(500);
    await clock.sleep(500);
    expect(clock.nowMs()).toBe(1000);
    clock.setScale(1);
    expect(clock.nowMs()).toBeGreaterThanOrEqual(1000);
    expect(clock.nowMs()).toBeLessThan(2000);
  });

  it.each([0, -1, 0.5, Number.NaN, 1e6])('refuses a scale of %d', (scale) => {
    expect(() => createPacedClock({ scale, startWallMs: 0 })).toThrow(
      /scale is .*from 1 to 100000/u,
    );
  });
});

describe('a clock at scale 1', () => {
  it('follows real time whether or not anybody sleeps', async () => {
    const wall = handClock();
    const clock = createPacedClock({ scale: 1, startWallMs: 5000, monotonicMs: wall.readMs });
    wall.nowMs = 1234;
    expect(clock.nowMs()).toBe(1234);
    expect(clock.wallMs()).toBe(6234);
    wall.nowMs = 1000;
    expect(clock.nowMs()).toBe(1234);
    await Promise.resolve();
  });

  it('sleeps for as long as asked, and a short sleep is not kept by a long one', async () => {
    const clock = createPacedClock({ scale: 1, startWallMs: 0 });
    const long = clock.sleep(60_000).then(() => 'woken');
    const beganMs = performance.now();
    await clock.sleep(30);
    expect(performance.now() - beganMs).toBeGreaterThanOrEqual(29);
    expect(clock.nowMs()).toBeGreaterThanOrEqual(30);
    expect(await Promise.race([long, wallWait(1)])).toBe('asleep');
  });
});
