/** Beats to the sentinel: none that a hurried tank would flood it with, and no silence that looks like a hang. */

import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { Heartbeat, leastBeatMs } from '../../daemon/control/heartbeat.ts';
import { tickPatienceFor } from '../../daemon/control/timing.ts';
import { silenceFor } from '../../daemon/sentinel/budgets.ts';

beforeEach(() => {
  vi.useFakeTimers({ toFake: ['performance'] });
});
afterEach(() => {
  vi.useRealTimers();
});

describe('the heartbeat', () => {
  it('beats once all tanks have judged, and not more often than the sentinel needs', () => {
    const beats: number[] = [];
    const heart = new Heartbeat(['one', 'two'], (tick) => beats.push(tick));
    heart.judged('one');
    heart.judged('one');
    expect(beats).toEqual([]);
    heart.judged('two');
    expect(beats).toEqual([1]);
    for (let round = 0; round < 2_000; round += 1) {
      vi.advanceTimersByTime(0.5);
      heart.judged('one');
      heart.judged('two');
    }
    expect(beats.length).toBeGreaterThan(1_000 / leastBeatMs / 2);
    expect(beats.length).toBeLessThanOrEqual(1_000 / leastBeatMs + 1);
  });

  it('does not beat while one tank is stuck, however busy the other is', () => {
    const beats: number[] = [];
    const heart = new Heartbeat(['one', 'two'], (tick) => beats.push(tick));
    heart.judged('one');
    heart.judged('two');
    expect(beats).toEqual([1]);
    vi.advanceTimersByTime(120);
    for (let count = 0; count < 50; count += 1) heart.judged('one');
    expect(beats).toEqual([1]);
    heart.judged('two');
    expect(beats).toEqual([1, 2]);
  });

  // A round that ends just after a beat is not told; the next one finds a supply that does not answer.
  it.each([50, 200, 250, 270, 333, 500, 1_000, 5_000])(
    'is not silent for as long as a hang at a cycle of %i ms, whatever the supply does',
    (cycleMs) => {
      const beats: number[] = [];
      const heart = new Heartbeat(['one'], () => beats.push(performance.now()));
      heart.judged('one');
      vi.advanceTimersByTime(leastBeatMs - 1);
      heart.judged('one');
      vi.advanceTimersByTime(cycleMs + tickPatienceFor(cycleMs));
      heart.judged('one');
      expect(beats).toHaveLength(2);
      // A computer that is busy for 400 ms on top of it does not look like a hang.
      const silentMs = (beats[1] ?? Infinity) - (beats[0] ?? 0);
      expect(silentMs + 400).toBeLessThan(silenceFor(cycleMs));
    },
  );
});
