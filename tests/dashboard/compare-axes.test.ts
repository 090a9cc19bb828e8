/** Runs on one axis: sampled where they are, and nowhere else. */

import { describe, expect, it } from 'vitest';
import type { Series } from '../../daemon/wire/run.ts';
import {
  axes,
  axisOf,
  endOf,
  gridOf,
  letters,
  patterns,
  quantitiesOver,
  sampled,
} from '../../dashboard/log/compare-axes.ts';
import { mostCompared } from '../../dashboard/log/log-address.ts';

function series(columns: Partial<Series>): Series {
  const atMs = columns.atMs ?? [];
  const none = atMs.map(() => 0);
  return {
    runId: 'run-1',
    atMs,
    volts: none,
    minVolts: none,
    maxVolts: none,
    amps: none,
    minAmps: none,
    maxAmps: none,
    setAmps: none,
    ampHours: none,
    thicknessMicrometres: none,
    lifecycle: atMs.map(() => 'holding'),
    ...columns,
  };
}

const hour = 3_600_000;
/** An ampere for two hours, lifted for one in between. */
const lifted = series({
  atMs: [0, hour, 2 * hour, 3 * hour],
  amps: [1, 1, 0, 1],
  ampHours: [0, 1, 1, 2],
  thicknessMicrometres: [0, 10, 10, 20],
});
const short = series({ atMs: [0, hour], amps: [2, 2], ampHours: [0, 2] });
/** It began with a charge of its own, as a run that goes on from another does. */
const carried = series({ atMs: [0, hour], amps: [1, 1], ampHours: [1.5, 2.5] });

describe('the grid', () => {
  it('goes from nothing to the end of the run that goes farthest, in the unit of the axis', () => {
    expect(gridOf([lifted, short], 'time', 4)).toEqual([0, 1, 2, 3]);
    expect(gridOf([lifted, carried], 'charge', 6)).toEqual([0, 0.5, 1, 1.5, 2, 2.5]);
    expect(endOf(lifted, 'thickness')).toBe(20);
  });

  it('is empty where no run has a curve', () => {
    expect(gridOf([series({})], 'time', 5)).toEqual([]);
    expect(gridOf([], 'charge', 5)).toEqual([]);
  });
});

describe('a run on it', () => {
  it('has its values on the line between its moments, and none past its end', () => {
    expect(sampled(short, 'time', 'charge', [0, 0.25, 1, 1.5])).toEqual([0, 0.5, 2, null]);
    expect(sampled(lifted, 'time', 'thickness', [0.5, 1.5, 2.5])).toEqual([5, 10, 15]);
  });

  it('has none before its start where it began with charge carried over', () => {
    expect(sampled(carried, 'charge', 'current', [0, 0.4, 1.5, 2, 2.5, 3])).toEqual([
      null,
      null,
      1,
      1,
      1,
      null,
    ]);
  });

  it('takes no place on an axis of charge while it is lifted', () => {
    expect(sampled(lifted, 'charge', 'thickness', [0.5, 1, 1.5])).toEqual([5, 10, 15]);
    // Nothing is drawn at no current: it stood still there.
    const amps = sampled(lifted, 'charge', 'current', [0.25, 0.75]);
    expect(amps).toEqual([1, 1]);
  });

  it('begins at its start although its first moment is the end of a first stretch', () => {
    const late = series({ atMs: [0.1 * hour, hour], amps: [3, 3], ampHours: [0.3, 3] });
    expect(sampled(late, 'time', 'current', [0, 0.25, 0.5])).toEqual([3, 3, 3]);
  });

  it('keeps its last value at the computed last place of a grid', () => {
    const third = series({ atMs: [0, hour / 3], amps: [1, 4], ampHours: [0, 0.1] });
    for (const axis of axes) {
      if (axis === 'thickness') continue;
      const grid = gridOf([third], axis, 7);
      expect(sampled(third, axis, 'current', grid).at(-1)).toBeCloseTo(4, 9);
    }
  });

  it('is nowhere without a curve', () => {
    expect(sampled(series({}), 'time', 'current', [0, 1])).toEqual([null, null]);
  });
});

it('an axis is not drawn over itself, and every run has a letter and a pattern of its own', () => {
  for (const axis of axes) expect(quantitiesOver[axis]).not.toContain(axis);
  expect(letters).toHaveLength(mostCompared);
  expect(new Set(patterns.map(String)).size).toBe(mostCompared);
  expect(axisOf('thickness')).toBe('thickness');
  expect(axisOf('colour')).toBe('time');
  expect(axisOf(null)).toBe('time');
});
