/** Thinning what a sensor said for the page: few values, and no spike lost. */

import { describe, expect, test } from 'vitest';
import { thinned } from '../../daemon/store/sensor-reader.ts';

const day = Array.from({ length: 17_280 }, (_, index) => ({
  atMs: index * 5000,
  value: index === 9001 ? 35 : index === 4002 ? 3 : 21 + (index % 5) / 10,
}));

describe('values of a day', () => {
  test('are few, in order, with the first, the last and both spikes', () => {
    const kept = thinned(day, 200);
    expect(kept.length).toBeLessThanOrEqual(200);
    expect(kept.length).toBeGreaterThan(150);
    const times = kept.map(({ atMs }) => atMs);
    expect(times).toEqual(times.toSorted((a, b) => a - b));
    expect(new Set(times).size).toBe(times.length);
    expect([kept[0], kept.at(-1)]).toEqual([day[0], day.at(-1)]);
    expect(kept).toContainEqual({ atMs: 9001 * 5000, value: 35 });
    expect(kept).toContainEqual({ atMs: 4002 * 5000, value: 3 });
  });

  test('stay as they are where they are few enough', () => {
    expect(thinned(day.slice(0, 200), 200)).toEqual(day.slice(0, 200));
    expect(thinned([], 4)).toEqual([]);
    expect(thinned(day.slice(0, 5), 4)).toHaveLength(4);
  });
});
