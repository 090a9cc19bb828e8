/** Wire bent, wound and linked: gaps between turns and links, and what is impossible. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { closesAtMm } from '../../daemon/piece/geometry/dimensions.ts';
import { helixSpacingMm, helixTurnMm } from '../../daemon/piece/geometry/helix.ts';
import { anyShape, definitionOf } from './arbitraries.ts';

/** The named size of a part, as it is now. */
function dimensionOf(kind: string, sizes: Readonly<Record<string, number>>, name: string) {
  const found = definitionOf(kind)
    .dimensions({ sizes })
    .find((dimension) => dimension.name === name);
  if (found === undefined) throw new Error(`no ${name} of ${kind}`);
  return found;
}

/** Distance to a helix from its start where it comes nearest again, by looking all along a turn. */
function spacingBySearch(diameter: number, pitch: number): number | null {
  const distance = (step: number) => {
    const angle = (2 * Math.PI * step) / 100_000;
    return Math.hypot(diameter * Math.sin(angle / 2), (pitch * angle) / (2 * Math.PI));
  };
  for (let step = 1; step <= 100_000; step += 1) {
    if (distance(step) < distance(step - 1) && distance(step) <= distance(step + 1)) {
      return distance(step);
    }
  }
  return null;
}

describe('a coil', () => {
  test.each([
    [5.8, 2],
    [5.8, 1],
    [3, 1.5],
    [100, 0.5],
    [10, 6],
    [10, 12],
    [3, 9],
    [3, 12],
  ])('of %f mm and a pitch of %f mm has its turns as far apart as a search finds', (d, pitch) => {
    const spacing = helixSpacingMm(d, pitch);
    expect(spacing ?? -1).toBeCloseTo(spacingBySearch(d, pitch) ?? -1, 5);
  });

  test('has turns never farther apart than its pitch, nor nearer than it leans', () => {
    const any = fc.double({ min: 0.1, max: 100, noNaN: true });
    fc.assert(
      fc.property(any, any, (diameter, pitch) => {
        const spacing = helixSpacingMm(diameter, pitch) ?? pitch;
        expect(spacing).toBeLessThanOrEqual(pitch * (1 + 1e-12));
        // Unrolled, neighbouring turns are parallel lines this far apart; round, they come nearer.
        const unrolled = (pitch * Math.PI * diameter) / helixTurnMm(diameter, pitch);
        expect(spacing).toBeGreaterThan(0.6 * unrolled);
      }),
    );
  });

  test('has the wire length of its unrolled triangle', () => {
    // A turn of 3 across and 4 along in a triangle of 3, 4, 5.
    expect(helixTurnMm(3 / Math.PI, 4)).toBeCloseTo(5, 12);
  });

  test('closes between its turns at half their gap', () => {
    const sizes = { insideDiameterMm: 5, wireDiameterMm: 0.8, pitchMm: 1.2, turns: 10 };
    const gap = dimensionOf('coil', sizes, 'gapMm');
    expect(gap.valueMm).toBeCloseTo((spacingBySearch(5.8, 1.2) ?? 0) - 0.8, 6);
    expect(closesAtMm(gap)).toBeCloseTo(gap.valueMm / 2, 12);
  });

  test('of a single turn has no gap', () => {
    const sizes = { insideDiameterMm: 5, wireDiameterMm: 0.8, pitchMm: 1.2, turns: 1 };
    const names = definitionOf('coil')
      .dimensions({ sizes })
      .map(({ name }) => name);
    expect(names).not.toContain('gapMm');
  });

  test.each([
    [0.8, 'above wireDiameterMm, 0.8'],
    [0.5, 'above wireDiameterMm, 0.8'],
    [0.8005, 'large enough to leave a gap of 0.005 mm between leaning turns'],
  ])('with a pitch of %f mm in 0.8 mm wire is refused', (pitchMm, bound) => {
    const sizes = { insideDiameterMm: 5, wireDiameterMm: 0.8, pitchMm, turns: 10 };
    expect(definitionOf('coil').problems({ sizes })).toMatchObject([
      { field: 'pitchMm', value: String(pitchMm), bound },
    ]);
  });
});

describe('a twisted pair', () => {
  test('with a lay below pi wires is refused', () => {
    const problems = (layMm: number) =>
      definitionOf('twisted-pair').problems({
        sizes: { wireDiameterMm: 1, layMm, lengthMm: 50 },
      });
    expect(problems(3.2)).toEqual([]);
    expect(problems(3.1)).toMatchObject([
      { field: 'layMm', value: '3.1', bound: 'at least pi times wireDiameterMm, 3.142' },
    ]);
  });

  test('has less surface than two wires apart, and never less than four fifths of them', () => {
    fc.assert(
      fc.property(anyShape('twisted-pair'), ({ sizes }) => {
        const { wireDiameterMm: wire = 0, layMm = 0, lengthMm = 0 } = sizes;
        const apart = (2 * Math.PI * wire * lengthMm * helixTurnMm(wire, layMm)) / layMm;
        const share = definitionOf('twisted-pair').growth({ sizes }).areaMm2 / apart;
        expect(share).toBeLessThan(1);
        expect(share).toBeGreaterThan(0.8);
      }),
    );
  });
});

describe('an open shank', () => {
  test('closes at half its gap, long before its inside', () => {
    const sizes = { insideDiameterMm: 17, wireDiameterMm: 1, gapMm: 0.6 };
    expect(closesAtMm(dimensionOf('shank', sizes, 'gapMm'))).toBe(0.3);
    expect(closesAtMm(dimensionOf('shank', sizes, 'insideDiameterMm'))).toBe(8.5);
  });

  test('with a gap of nothing is nearly a loop with two ends', () => {
    const sizes = { insideDiameterMm: 17, wireDiameterMm: 1, gapMm: 1e-6 };
    const loop = definitionOf('loop').growth({
      sizes: { insideDiameterMm: 17, wireDiameterMm: 1 },
    });
    const shank = definitionOf('shank').growth({ sizes });
    expect(shank.areaMm2).toBeCloseTo(loop.areaMm2 + Math.PI / 2, 4);
  });

  test('open by more than nine tenths is refused', () => {
    const sizes = { insideDiameterMm: 10, wireDiameterMm: 1, gapMm: 9.1 };
    expect(definitionOf('shank').problems({ sizes })).toMatchObject([
      { field: 'gapMm', value: '9.1', bound: 'at most nine tenths of insideDiameterMm, 10' },
    ]);
  });
});

describe('a chain', () => {
  const link = { links: 5, insideLengthMm: 6, insideWidthMm: 3, wireDiameterMm: 1, linkGapMm: 0.4 };

  test('fuses where its gap or the room beside the next link is gone', () => {
    expect(closesAtMm(dimensionOf('chain', link, 'linkGapMm'))).toBeCloseTo(0.2, 12);
    // A link of 1 mm wire in an opening of 3 mm has 1 mm on each side; both grow.
    expect(closesAtMm(dimensionOf('chain', link, 'linkPlayMm'))).toBeCloseTo(0.5, 12);
  });

  test('of round links has the surface of as many loops', () => {
    const sizes = { ...link, insideLengthMm: 3, wireDiameterMm: 0.5 };
    const loop = definitionOf('loop').growth({
      sizes: { insideDiameterMm: 3, wireDiameterMm: 0.5 },
    });
    expect(definitionOf('chain').growth({ sizes }).areaMm2).toBeCloseTo(5 * loop.areaMm2, 9);
  });

  test.each([
    [{ wireDiameterMm: 3 }, 'wireDiameterMm', 'below insideWidthMm, 3'],
    [{ insideLengthMm: 2.5 }, 'insideLengthMm', 'at least insideWidthMm, 3'],
    [{ insideLengthMm: 4, wireDiameterMm: 2 }, 'wireDiameterMm', 'below half of insideLengthMm, 4'],
    [{ linkGapMm: 4.1 }, 'linkGapMm', 'at most insideLengthMm less two wires, 4'],
  ])('that cannot be, %o, is refused', (change, field, bound) => {
    expect(definitionOf('chain').problems({ sizes: { ...link, ...change } })).toMatchObject([
      { field, bound },
    ]);
  });
});

test('a twisted pair says how much more its bare wires have than the area shown', () => {
  const pair = definitionOf('twisted-pair');
  const more = (layMm: number) => {
    // Two wires of radius 0.5 mm side by side have 4 pi r on each mm of their length, pi d on each.
    const turnMm = Math.hypot(Math.PI, layMm);
    const bareMm2 = (2 * Math.PI * 100 * turnMm) / layMm;
    const sizes = { wireDiameterMm: 1, layMm, lengthMm: 100 };
    return bareMm2 / pair.growth({ sizes }).areaMm2 - 1;
  };
  expect(more(500)).toBeCloseTo(0.07, 2);
  expect(more(Math.PI)).toBeCloseTo(0.17, 2);
  expect(pair.explanation).toContain('bare, it is 7 to 17 % more');
});
