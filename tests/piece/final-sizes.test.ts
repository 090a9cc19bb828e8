/** Sizes before and after: growth, ring sizes, and what closes or fuses. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { evenBoreShare } from '../../daemon/piece/blanks.ts';
import { finalSizes, finalSizesOfPiece } from '../../daemon/piece/final-sizes.ts';
import type { Dimension } from '../../daemon/piece/model.ts';

const inside: Dimension = {
  name: 'insideDiameterMm',
  label: 'Inside diameter',
  valueMm: 17.323,
  growthPerThickness: -2,
  closes: true,
};
const outside: Dimension = {
  name: 'outsideDiameterMm',
  label: 'Outside diameter',
  valueMm: 19.323,
  growthPerThickness: 2,
  closes: false,
};
const gap: Dimension = {
  name: 'gapMm',
  label: 'Gap between links',
  valueMm: 0.6,
  growthPerThickness: -2,
  closes: true,
};
const thickness = { low: 0.25, value: 0.3, high: 0.4 };

function only(size: Dimension, share = evenBoreShare, span = thickness) {
  const [found] = finalSizes([size], span, share);
  if (found === undefined) throw new Error('No size came back.');
  return found;
}

test('a ring loses twice the thickness inside and gains it outside', () => {
  expect(only(inside).after.value).toBeCloseTo(16.723, 12);
  expect(only(inside).after.low).toBeCloseTo(16.523, 12);
  expect(only(inside).after.high).toBeCloseTo(16.823, 12);
  expect(only(outside).after.value).toBeCloseTo(19.923, 12);
  expect(only(outside).after.low).toBeCloseTo(19.823, 12);
  expect(only(outside).after.high).toBeCloseTo(20.123, 12);
});

test('a bore in the shade loses less, and a gap does not know of it', () => {
  const share = { low: 0.5, value: 0.8, high: 1 };
  expect(only(inside, share).after.value).toBeCloseTo(17.323 - 0.48, 12);
  expect(only(inside, share).after.high).toBeCloseTo(17.323 - 0.25, 12);
  expect(only(gap, share).after.value).toBe(0);
  expect(only({ ...inside, name: 'holeDiameterMm' }, share).after.value).toBeCloseTo(16.843, 12);
});

test('an inside diameter is said in every ring scale, before and after', () => {
  const rings = only(inside).rings;
  expect(rings.map(({ scale }) => scale)).toEqual(['iso', 'us', 'uk', 'japan']);
  // US 7 less 0.6 mm: 0.74 sizes, so a little above 6 1/4.
  expect(rings.find(({ scale }) => scale === 'us')).toEqual({
    scale: 'us',
    before: 'US 7',
    after: 'US 6 1/4, 0.01 mm wider',
    largest: 'US 6 1/2, 0.09 mm narrower',
    smallest: 'US 6, 0.01 mm wider',
  });
});

test('no ring size is said of a small bore, a closed one, or an outside', () => {
  expect(only({ ...inside, valueMm: 4 }).rings).toEqual([]);
  expect(only(outside).rings).toEqual([]);
  expect(only({ ...inside, name: 'holeDiameterMm' }).rings).toEqual([]);
  expect(only({ ...inside, valueMm: 60 }).rings).toEqual([]);
});

describe('a gap', () => {
  test.each([
    [0.3, 'closes', 'Gap between links will fuse: it shuts from a deposit of 0.15 mm.'],
    [0.6, 'mayClose', 'Gap between links may fuse: it can shut from a deposit of 0.3 mm.'],
    [0.9, 'staysOpen', 'Gap between links stays open; it would fuse at a deposit of 0.45 mm.'],
  ] as const)('of %d mm under 0.25 to 0.4 mm: %s', (valueMm, state, words) => {
    expect(only({ ...gap, valueMm }).closing).toMatchObject({ kind: 'gap', state, words });
  });

  test('never has a width below nothing', () => {
    expect(only({ ...gap, valueMm: 0.1 }).after).toEqual({ low: 0, value: 0, high: 0 });
  });
});

test('a bore closes later the more it lies in the shade', () => {
  const share = { low: 0.5, value: 0.8, high: 1 };
  const closing = only({ ...inside, valueMm: 0.7 }, share).closing;
  expect(closing).toMatchObject({ kind: 'bore', state: 'mayClose' });
  expect(closing?.atThickness).toEqual({ low: 0.35, value: 0.35 / 0.8, high: 0.7 });
  expect(only(outside).closing).toBeNull();
  expect(only({ ...inside, closes: false }).closing).toBeNull();
  expect(only({ ...gap, name: 'linkPlayMm' }).closing?.kind).toBe('gap');
});

test('ranges hold their value, and a thicker deposit never turns a size round', () => {
  const slope = fc.constantFrom<Dimension['growthPerThickness'][]>(-2, -1, 0, 1, 2);
  const length = fc.double({ min: 0.01, max: 50, noNaN: true });
  fc.assert(
    fc.property(slope, length, length, length, (growthPerThickness, valueMm, one, two) => {
      const size = { ...gap, valueMm, growthPerThickness };
      const after = (mm: number) =>
        only(size, evenBoreShare, { low: mm * 0.8, value: mm, high: mm * 1.2 }).after;
      const { low, value, high } = after(one);
      expect(low).toBeLessThanOrEqual(value);
      expect(high).toBeGreaterThanOrEqual(value);
      const change = after(Math.max(one, two)).value - after(Math.min(one, two)).value;
      expect(change * growthPerThickness).toBeGreaterThanOrEqual(0);
    }),
  );
});

test.each([
  { low: -0.1, value: 0, high: 1 },
  { low: 0.3, value: 0.2, high: 0.4 },
  { low: 0, value: 0.1, high: Number.POSITIVE_INFINITY },
  { low: Number.NaN, value: 0.1, high: 0.2 },
])('a thickness of %j is refused', (span) => {
  expect(() => finalSizes([inside], span, evenBoreShare)).toThrow(
    /thickness is .* 0 or more, and in order/,
  );
});

test('a piece has its sizes part by part, and parts without sizes are left out', () => {
  const part = (kind: string, label: string, sizes: Readonly<Record<string, number>>) => ({
    kind,
    label,
    count: 1,
    platedFraction: 1,
    sizes,
  });
  const piece = {
    name: 'Trial',
    areaUncertainty: 0.1,
    parts: [
      part('measured', 'Leaf', { areaMm2: 100 }),
      part('loop', 'Shank', { insideDiameterMm: 17.323, wireDiameterMm: 1 }),
      part('wire', '', { wireDiameterMm: 0.8, lengthMm: 20 }),
    ],
  };
  const parts = finalSizesOfPiece(piece, thickness, evenBoreShare);
  const sizesOf = (index: number) => parts.find(({ partIndex }) => partIndex === index);
  expect(sizesOf(0)).toBeUndefined();
  expect(sizesOf(1)?.label).toBe('Shank');
  const bore = sizesOf(1)?.sizes.find(({ name }) => name === 'insideDiameterMm');
  expect(bore?.after.value).toBeCloseTo(16.723, 12);
  expect(bore?.rings.find(({ scale }) => scale === 'us')?.before).toBe('US 7');
  const wire = sizesOf(2)?.sizes.find(({ name }) => name === 'wireDiameterMm');
  expect(wire?.after.value).toBeCloseTo(1.4, 12);
});
