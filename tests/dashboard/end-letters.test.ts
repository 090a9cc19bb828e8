/** Letters at the ends of lines: each beside its own, none upon another, none outside of its plot. */

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { letterPlaces } from '../../dashboard/log/end-letters.ts';

const box = { width: 15, height: 16, top: 8, bottom: 104 };

describe('the letters at the ends of lines', () => {
  it('stand beside their ends where there is room', () => {
    const ends = [
      { x: 50, y: 30 },
      { x: 50, y: 60 },
      { x: 90, y: 30 },
    ];
    expect(letterPlaces(ends, box)).toEqual(ends);
  });

  it('step aside by no more than they have to, up or down', () => {
    const ends = [50, 52, 48].map((y) => ({ x: 60, y }));
    expect(letterPlaces(ends, box).map(({ y }) => y)).toEqual([50, 66, 34]);
    // At the foot of a plot there is room above only.
    expect(
      letterPlaces(
        [120, 120].map((y) => ({ x: 60, y })),
        box,
      ).map(({ y }) => y),
    ).toEqual([104, 88]);
  });

  it('never cover each other nor leave the plot, wherever four lines end', () => {
    const end = fc.record({ x: fc.integer({ min: 0, max: 300 }), y: fc.integer({ max: 150 }) });
    fc.assert(
      fc.property(fc.array(end, { minLength: 1, maxLength: 4 }), (ends) => {
        const places = letterPlaces(ends, box);
        for (const [index, { x, y }] of places.entries()) {
          expect(x).toBe(ends[index]?.x);
          expect(y).toBeGreaterThanOrEqual(box.top);
          expect(y).toBeLessThanOrEqual(box.bottom);
          for (const other of places.slice(0, index)) {
            const apart = Math.abs(other.x - x) >= box.width || Math.abs(other.y - y) >= box.height;
            expect(apart).toBe(true);
          }
        }
      }),
    );
  });
});
