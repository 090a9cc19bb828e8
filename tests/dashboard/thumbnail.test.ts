/** The thumbnail of a run: a line and an area that stay inside their small drawing. */

import { describe, expect, it } from 'vitest';
import { thumbnailPaths, thumbnailSize } from '../../dashboard/log/thumbnail.ts';

const { width, height } = thumbnailSize;

function pointsOf(path: string): { x: number; y: number }[] {
  return [...path.matchAll(/[ML]([\d.]+) ([\d.]+)/g)].map(([, x, y]) => ({
    x: Number(x),
    y: Number(y),
  }));
}

const night = {
  atMs: [0, 3_600_000, 7_200_000],
  amps: [0.1, 0.4, 0.4],
  thicknessMicrometres: [0, 20, 60],
};

describe('the paths', () => {
  it('run from one side to the other, the higher current higher', () => {
    const current = pointsOf(thumbnailPaths(night, 120)?.current ?? '');
    expect(current.map(({ x }) => x)).toEqual([0, width / 2, width]);
    expect(current[0]?.y).toBeGreaterThan(current[1]?.y ?? Infinity);
    expect(current[1]?.y).toBe(current[2]?.y);
  });

  it('show the metal against its target: half of it is half the height', () => {
    const metal = pointsOf(thumbnailPaths(night, 120)?.metal ?? '');
    expect(metal.at(-2)).toEqual({ x: width, y: height / 2 });
    expect(metal[0]).toEqual({ x: 0, y: height });
    expect(metal.at(-1)).toEqual({ x: width, y: height });
  });

  it('stay inside also where more grew than was asked for, and where nothing flowed', () => {
    const idle = { atMs: [0, 10], amps: [0, 0], thicknessMicrometres: [0, 0] };
    for (const paths of [thumbnailPaths(night, 10), thumbnailPaths(idle, 0)]) {
      for (const path of [paths?.current ?? '', paths?.metal ?? '']) {
        expect(path).not.toMatch(/NaN|Infinity|e-/);
        for (const { y } of pointsOf(path)) {
          expect(y).toBeGreaterThanOrEqual(0);
          expect(y).toBeLessThanOrEqual(height);
        }
      }
    }
  });

  it('are a level line for a single moment, and none without one', () => {
    const one = thumbnailPaths({ atMs: [0], amps: [0.2], thicknessMicrometres: [1] }, 100);
    expect(pointsOf(one?.current ?? '')).toHaveLength(2);
    expect(thumbnailPaths({ atMs: [], amps: [], thicknessMicrometres: [] }, 100)).toBeNull();
  });
});
