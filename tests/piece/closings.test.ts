/** What closes on a piece and when, its sizes before and after, and the range of its area. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { partUncertainties, pieceAreaUncertainty } from '../../daemon/piece/area-uncertainty.ts';
import { pieceClosings, pieceDimensionsAt } from '../../daemon/piece/closings.ts';
import { areaMm2At, volumeMm3At } from '../../daemon/piece/growth.ts';
import type { PartDescription } from '../../daemon/piece/model.ts';
import { pieceClosesAtMm, pieceGrowth, pieceProblems } from '../../daemon/piece/piece.ts';
import { anyPart, anyPiece, definitionOf, kinds, partOf, pieceOf } from './arbitraries.ts';

const ring = partOf('loop', { insideDiameterMm: 17, wireDiameterMm: 1 }, { label: 'ring' });
const jumpRing = partOf('loop', { insideDiameterMm: 2, wireDiameterMm: 0.8 }, { label: 'eye' });
const chain = partOf(
  'chain',
  { links: 5, insideLengthMm: 6, insideWidthMm: 3, wireDiameterMm: 1, linkGapMm: 0.4 },
  { label: 'chain' },
);
const ball = partOf('ball', { diameterMm: 6 }, { label: 'berry' });

describe('the closings of a piece', () => {
  test('are all there, the first to close first', () => {
    const closings = pieceClosings(pieceOf([ring, ball, jumpRing, chain]));
    expect(
      closings.map(({ partLabel, name, closesAtMm }) => [partLabel, name, closesAtMm]),
    ).toEqual([
      ['chain', 'linkGapMm', 0.2],
      ['chain', 'linkPlayMm', 0.5],
      ['eye', 'insideDiameterMm', 1],
      ['ring', 'insideDiameterMm', 8.5],
    ]);
    expect(closings[2]).toMatchObject({ partIndex: 2, label: 'Inside diameter', valueMm: 2 });
  });

  test('are none where nothing closes', () => {
    expect(pieceClosings(pieceOf([ball]))).toEqual([]);
  });

  test('begin with the one that ends the growth of the whole', () => {
    fc.assert(
      fc.property(anyPiece, (piece) => {
        const closings = pieceClosings(piece);
        expect(pieceClosesAtMm(piece)?.closesAtMm).toBe(closings[0]?.closesAtMm);
        const thicknesses = closings.map(({ closesAtMm }) => closesAtMm);
        expect(thicknesses).toEqual(thicknesses.toSorted((first, second) => first - second));
      }),
    );
  });
});

describe('the sizes of a piece under metal', () => {
  // A ring of ID and OD under t: ID - 2 t and OD + 2 t; wire d + 2 t.
  test('are what a ring measures', () => {
    const [found] = pieceDimensionsAt(pieceOf([ring]), 0.3);
    expect(found?.dimensions.map(({ name, valueMm }) => [name, valueMm])).toEqual([
      ['insideDiameterMm', 17],
      ['outsideDiameterMm', 19],
      ['wireDiameterMm', 1],
    ]);
    const grown = found?.dimensions.map(({ grownMm }) => grownMm) ?? [];
    for (const [index, wanted] of [16.4, 19.6, 1.6].entries()) {
      expect(grown[index]).toBeCloseTo(wanted, 12);
    }
  });

  test('shut at nothing and stay there', () => {
    const at = (thickness: number) =>
      pieceDimensionsAt(pieceOf([jumpRing]), thickness)[0]?.dimensions[0];
    expect(at(0.999)).toMatchObject({ shut: false });
    expect(at(1)).toMatchObject({ shut: true, grownMm: 0 });
    expect(at(3)).toMatchObject({ shut: true, grownMm: 0 });
  });

  test('without any metal are the sizes themselves', () => {
    fc.assert(
      fc.property(anyPiece, (piece) => {
        for (const { dimensions } of pieceDimensionsAt(piece, 0)) {
          expect(dimensions.every(({ grownMm, valueMm }) => grownMm === valueMm)).toBe(true);
        }
      }),
    );
  });

  test('leave out parts that have no known size', () => {
    const measured = partOf('measured', { areaMm2: 500 });
    const found = pieceDimensionsAt(pieceOf([measured, ball]), 0.1);
    expect(found.map(({ partIndex }) => partIndex)).toEqual([1]);
  });

  // Parts that are themselves again when grown, with every size moved by its growth.
  test.each(['loop', 'ball', 'wire', 'sheet'])('of a grown %s give its grown area', (kind) => {
    fc.assert(
      fc.property(anyPart(kind), fc.double({ min: 0.01, max: 1, noNaN: true }), (part, wanted) => {
        const one = { ...part, count: 1, platedFraction: 1 };
        const piece = pieceOf([one]);
        const t = Math.min(wanted, pieceClosesAtMm(piece)?.closesAtMm ?? wanted);
        const grown = pieceDimensionsAt(piece, t)[0]?.dimensions ?? [];
        const sizes = Object.fromEntries(grown.map(({ name, grownMm }) => [name, grownMm]));
        const after = definitionOf(kind).growth({ sizes: { ...one.sizes, ...sizes } }).areaMm2;
        expect(Math.abs(areaMm2At(pieceGrowth(piece), t) / after - 1)).toBeLessThan(1e-9);
      }),
    );
  });
});

describe('the range of the area', () => {
  const plain = (part: PartDescription, areaUncertainty = 0) => ({
    ...pieceOf([part]),
    areaUncertainty,
  });

  test('of one part is that of its kind, however many alike', () => {
    expect(pieceAreaUncertainty(plain(ball))).toBeCloseTo(0.05, 12);
    expect(pieceAreaUncertainty(plain({ ...ball, count: 40 }))).toBeCloseTo(0.05, 12);
  });

  test('of two equal parts measured apart is smaller by the root of two', () => {
    const piece = { ...pieceOf([ball, ball]), areaUncertainty: 0 };
    expect(pieceAreaUncertainty(piece)).toBeCloseTo(0.05 / Math.SQRT2, 12);
  });

  test('is never below what the maker entered', () => {
    expect(pieceAreaUncertainty(plain(ball, 0.2))).toBe(0.2);
    fc.assert(
      fc.property(anyPiece, (piece) => {
        const share = pieceAreaUncertainty(piece);
        expect(share).toBeGreaterThanOrEqual(piece.areaUncertainty);
        expect(share).toBeLessThanOrEqual(0.25);
      }),
    );
  });

  test('is led by the part that brings most of it', () => {
    const texture = partOf('bead-texture', {
      baseAreaMm2: 400,
      beadDiameterMm: 1,
      coverageShare: 0.5,
      beadForm: 0,
    });
    const [first, second] = partUncertainties(pieceOf([ball, texture]));
    expect(first).toMatchObject({ partIndex: 1, share: 0.2, areaMm2: 600, halfWidthMm2: 120 });
    expect(second?.halfWidthMm2).toBeCloseTo(0.05 * 36 * Math.PI, 12);
  });
});

describe('surface that is covered', () => {
  const covered = (coveredMm2: number, more: Partial<PartDescription> = {}) =>
    pieceOf([{ ...ball, ...more, coveredMm2 }]);
  const bare = pieceGrowth(pieceOf([ball]));

  test('is taken off the area, and off the growth by the same share', () => {
    const growth = pieceGrowth(covered(20));
    expect(growth.areaMm2).toBeCloseTo(bare.areaMm2 - 20, 12);
    const share = growth.areaMm2 / bare.areaMm2;
    expect(growth.meanCurvatureMm).toBeCloseTo(share * bare.meanCurvatureMm, 12);
    expect(growth.gaussThird).toBeCloseTo(share * bare.gaussThird, 12);
    expect(volumeMm3At(growth, 0.3)).toBeCloseTo(share * volumeMm3At(bare, 0.3), 12);
  });

  test('is counted once for the whole line of parts', () => {
    const growth = pieceGrowth(covered(30, { count: 10, platedFraction: 0.5 }));
    expect(growth.areaMm2).toBeCloseTo(5 * bare.areaMm2 - 30, 10);
  });

  test('of nothing changes nothing', () => {
    expect(pieceGrowth(covered(0))).toEqual(bare);
    expect(pieceProblems(covered(0))).toEqual([]);
  });

  test.each([-1, Number.NaN, Number.POSITIVE_INFINITY, bare.areaMm2, 200])(
    'of %f mm2 on a ball of 113 mm2 is refused',
    (coveredMm2) => {
      const [found, ...others] = pieceProblems(covered(coveredMm2));
      expect(others).toEqual([]);
      expect(found).toMatchObject({ field: 'parts[0].coveredMm2', value: String(coveredMm2) });
      expect(found?.bound).toMatch(/^0 or more and below the plated area of the part, 113\.09/);
    },
  );

  test('is compared with the plated share, not with all of the part', () => {
    expect(pieceProblems(covered(60))).toEqual([]);
    expect(pieceProblems(covered(60, { platedFraction: 0.5 }))).toHaveLength(1);
  });
});

test('an outline on a part that has none is refused', () => {
  const outline = { points: [] };
  expect(pieceProblems(pieceOf([{ ...ball, outline }]))).toMatchObject([
    { field: 'parts[0].outline', value: 'given', bound: 'left out of a part of kind ball' },
  ]);
});

test('a choice that does not exist names those that do', () => {
  const cone = partOf('cone', { diameterMm: 8, heightMm: 15, base: 2 });
  expect(pieceProblems(pieceOf([cone]))).toMatchObject([
    { field: 'parts[0].sizes.base', value: '2', bound: '1 (Base counts) or 0 (Base hidden)' },
  ]);
});

test('more metal never means less of it, for any kind, until the first closing', () => {
  const share = fc.double({ min: 0, max: 1, noNaN: true });
  fc.assert(
    fc.property(fc.oneof(...kinds.map(anyPart)), share, share, (part, first, second) => {
      const piece = pieceOf([part]);
      const reach = Math.min(1, pieceClosesAtMm(piece)?.closesAtMm ?? 1);
      const growth = pieceGrowth(piece);
      const [thin, thick] = [Math.min(first, second) * reach, Math.max(first, second) * reach];
      expect(volumeMm3At(growth, thick)).toBeGreaterThanOrEqual(volumeMm3At(growth, thin));
    }),
  );
});
