/** Whole pieces: what is wrong with them, what they add up to, and which part decides. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { addGrowth, scaleGrowth } from '../../daemon/piece/growth.ts';
import type { Growth, PartDescription, PieceDescription } from '../../daemon/piece/model.ts';
import {
  decidingPart,
  hangerShare,
  pieceClosesAtMm,
  pieceGrowth,
  pieceProblems,
} from '../../daemon/piece/piece.ts';
import { pieceSchema } from '../../daemon/wire/piece.ts';
import { anyPart, anyPiece, definitionOf, kinds, partOf, pieceOf } from './arbitraries.ts';

const wire = partOf('wire', { wireDiameterMm: 0.8, lengthMm: 100 });
const ball = partOf('ball', { diameterMm: 6 });
const hanger = partOf('hanger', { wireDiameterMm: 1, submergedLengthMm: 40 });
const tube = partOf('tube', { outsideDiameterMm: 6, insideDiameterMm: 4, lengthMm: 20 });
const loop = partOf('loop', { insideDiameterMm: 3, wireDiameterMm: 1 });
const measured = partOf('measured', { areaMm2: 500 });

function expectSameGrowth(first: Growth, second: Growth): void {
  for (const term of ['areaMm2', 'meanCurvatureMm', 'gaussThird'] as const) {
    expect(Math.abs(first[term] - second[term])).toBeLessThanOrEqual(
      1e-12 * Math.abs(second[term]),
    );
  }
}

test('a sound piece has no problem', () => {
  expect(pieceProblems(pieceOf([wire, ball, hanger]))).toEqual([]);
});

test.each([
  ['an override (U+202E)', 'Leaf \u202egnp', 'U+202E'],
  ['an isolate (U+2066)', 'Leaf \u2066x', 'U+2066'],
  ['a line break', 'Leaf\nx', 'U+000A'],
])('a name with %s is refused by its field, and shown without it', (_name, text, code) => {
  const named = { ...pieceOf([{ ...wire, label: text }]), name: text };
  const problems = pieceProblems({ ...named, materials: [{ id: 'quartz', note: text }] });
  expect(problems.map(({ field }) => field)).toEqual([
    'name',
    'parts[0].label',
    'materials[0].note',
  ]);
  for (const { message, value } of problems) {
    expect(message).toContain(`Take out the invisible ${code}`);
    expect(value).toContain(`[${code}]`);
    expect(message).not.toContain(text);
  }
});

test('names in any script, with joiners and accents, are names', () => {
  const name = 'Zweig – שָׁלוֹם, नमस्ते, 👩\u200d🔧, e\u0301';
  expect(pieceProblems({ ...pieceOf([wire]), name })).toEqual([]);
});

test('the growth of two pieces hung together is the sum of theirs', () => {
  fc.assert(
    fc.property(anyPiece, anyPiece, (one, other) => {
      const both = pieceGrowth(pieceOf([...one.parts, ...other.parts]));
      expectSameGrowth(both, addGrowth(pieceGrowth(one), pieceGrowth(other)));
    }),
  );
});

test('a part counts as often as it is there and by the share that is plated', () => {
  fc.assert(
    fc.property(fc.oneof(...kinds.map(anyPart)), (part) => {
      const one = definitionOf(part.kind).growth(part);
      const factor = part.count * part.platedFraction;
      expectSameGrowth(pieceGrowth(pieceOf([part])), scaleGrowth(one, factor));
    }),
  );
});

test('ten of a part grow like ten parts', () => {
  const ten = pieceGrowth(pieceOf([{ ...ball, count: 10 }]));
  expectSameGrowth(ten, pieceGrowth(pieceOf(Array.from({ length: 10 }, () => ball))));
});

function onlyProblem(change: Partial<PartDescription>) {
  // The part in question comes second, so that its place shows in the path.
  const problems = pieceProblems(pieceOf([ball, { ...wire, ...change }]));
  expect(problems).toHaveLength(1);
  return problems[0];
}

test('a wire too thick names the size, the value and the bound, and how to measure', () => {
  expect(onlyProblem({ sizes: { wireDiameterMm: 20.5, lengthMm: 100 } })).toEqual({
    field: 'parts[1].sizes.wireDiameterMm',
    value: '20.5',
    bound: 'a number from 0.05 to 20 mm',
    message:
      'parts[1].sizes.wireDiameterMm is 20.5; it must be a number from 0.05 to 20 mm. ' +
      'Measure across the wire with a caliper, paint included, or take it from its gauge.',
  });
});

test.each([0, -1, 10_000.1, Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY])(
  'a length of %s is refused',
  (lengthMm) => {
    expect(onlyProblem({ sizes: { wireDiameterMm: 1, lengthMm } })).toMatchObject({
      field: 'parts[1].sizes.lengthMm',
      value: String(lengthMm),
      bound: 'a number from 0.1 to 10000 mm',
    });
  },
);

test('a negative gap is refused', () => {
  const sizes = { insideDiameterMm: 17, wireDiameterMm: 1, gapMm: -0.5 };
  expect(onlyProblem({ kind: 'shank', sizes })).toMatchObject({
    field: 'parts[1].sizes.gapMm',
    value: '-0.5',
    bound: 'a number from 0.05 to 1000 mm',
  });
});

test('half a link is refused', () => {
  const sizes = { insideLengthMm: 6, insideWidthMm: 3, wireDiameterMm: 1, linkGapMm: 0.4 };
  expect(onlyProblem({ kind: 'chain', sizes: { ...sizes, links: 4.5 } })).toMatchObject({
    field: 'parts[1].sizes.links',
    bound: 'a whole number from 1 to 10000',
  });
});

test('the bounds themselves are allowed', () => {
  const least = { ...wire, sizes: { wireDiameterMm: 0.05, lengthMm: 0.1 } };
  const most = { ...wire, sizes: { wireDiameterMm: 20, lengthMm: 10_000 } };
  expect(pieceProblems(pieceOf([least, most]))).toEqual([]);
});

test('a missing size is called missing', () => {
  expect(onlyProblem({ sizes: { wireDiameterMm: 1 } })).toMatchObject({
    field: 'parts[1].sizes.lengthMm',
    value: 'missing',
  });
});

test('an unknown size is named with the known ones', () => {
  const sizes = { ...wire.sizes, lengthInches: 4 };
  expect(onlyProblem({ sizes })).toMatchObject({
    field: 'parts[1].sizes.lengthInches',
    value: '4',
    bound: 'one of wireDiameterMm, lengthMm',
  });
});

test('an unknown kind is named with the known ones', () => {
  expect(onlyProblem({ kind: 'cube' })).toMatchObject({
    field: 'parts[1].kind',
    value: 'cube',
    bound: `one of ${kinds.join(', ')}`,
  });
});

test.each([0, -3, 1.5, 10_001, Number.NaN, Number.POSITIVE_INFINITY])(
  'a count of %s is refused',
  (count) => {
    expect(onlyProblem({ count })).toMatchObject({
      field: 'parts[1].count',
      value: String(count),
      bound: 'a whole number from 1 to 10000',
    });
  },
);

test.each([0, -0.5, 1.01, 50, Number.NaN])('a plated fraction of %s is refused', (share) => {
  expect(onlyProblem({ platedFraction: share })).toMatchObject({
    field: 'parts[1].platedFraction',
    value: String(share),
    bound: 'above 0 and at most 1',
  });
});

test('what a kind finds impossible is reported under the path of the size', () => {
  const sizes = { outsideDiameterMm: 4, insideDiameterMm: 6, lengthMm: 20 };
  expect(onlyProblem({ kind: 'tube', sizes })).toMatchObject({
    field: 'parts[1].sizes.insideDiameterMm',
    value: '6',
    bound: 'below outsideDiameterMm, 4',
  });
});

test('every fault of a part is reported at once', () => {
  const bad = { ...wire, count: 0, platedFraction: 2, sizes: { wireDiameterMm: -1 } };
  expect(pieceProblems(pieceOf([bad])).map((problem) => problem.field)).toEqual([
    'parts[0].count',
    'parts[0].platedFraction',
    'parts[0].sizes.wireDiameterMm',
    'parts[0].sizes.lengthMm',
  ]);
});

const fieldsOf = (piece: PieceDescription) => pieceProblems(piece).map(({ field }) => field);

describe('what is wrong with a whole piece', () => {
  test('a piece without parts has no plated area', () => {
    expect(pieceProblems(pieceOf([]))).toMatchObject([{ field: 'parts', value: 'empty' }]);
  });

  test('a piece that is all hanger is refused', () => {
    expect(pieceProblems(pieceOf([hanger, hanger]))).toMatchObject([
      { field: 'parts', value: 'hangers only', bound: 'at least one part of another kind' },
    ]);
  });

  test('more parts than a piece may list are refused', () => {
    const parts = Array.from({ length: 101 }, () => ball);
    expect(pieceProblems(pieceOf(parts))).toMatchObject([
      { field: 'parts', value: '101 parts', bound: 'at most 100 parts' },
    ]);
  });

  test('a nameless piece is refused', () => {
    expect(fieldsOf({ ...pieceOf([ball]), name: ' ' })).toEqual(['name']);
  });

  test.each([-0.1, 0.91, 10, Number.NaN])('an uncertainty of %s is refused', (value) => {
    expect(pieceProblems({ ...pieceOf([ball]), areaUncertainty: value })).toMatchObject([
      { field: 'areaUncertainty', value: String(value), bound: 'a number from 0 to 0.9' },
    ]);
  });

  test('an uncertainty of nothing or of 0.9 is allowed', () => {
    for (const areaUncertainty of [0, 0.9]) {
      expect(pieceProblems({ ...pieceOf([ball]), areaUncertainty })).toEqual([]);
    }
  });

  test('a share so small that no area is left is refused', () => {
    const speck = { ...ball, platedFraction: Number.MIN_VALUE, sizes: { diameterMm: 0.1 } };
    expect(fieldsOf(pieceOf([speck]))).toEqual(['parts']);
  });

  test('a piece without problems is one that the wire lets through', () => {
    fc.assert(
      fc.property(anyPiece, (piece) => {
        expect(pieceSchema.parse(piece)).toEqual(piece);
      }),
    );
  });
});

test('the hangers have their share of the area', () => {
  expect(hangerShare(pieceOf([ball]))).toBe(0);
  expect(hangerShare(pieceOf([ball, hanger]))).toBeCloseTo(40 / (40 + 36), 12);
  const [half, two] = [
    { ...ball, platedFraction: 0.5 },
    { ...hanger, count: 2 },
  ];
  expect(hangerShare(pieceOf([half, two]))).toBeCloseTo(80 / (80 + 18), 12);
  expect(hangerShare(pieceOf([]))).toBe(0);
});

test('the part that closes first is found with its thickness', () => {
  expect(pieceClosesAtMm(pieceOf([ball, tube, loop]))).toEqual({ partIndex: 2, closesAtMm: 1.5 });
  expect(pieceClosesAtMm(pieceOf([tube, tube]))).toEqual({ partIndex: 0, closesAtMm: 2 });
  expect(pieceClosesAtMm(pieceOf([ball, wire, hanger]))).toBeNull();
});

describe('the part that decides', () => {
  test('is the one that closes first', () => {
    expect(decidingPart(pieceOf([wire, tube, loop]))).toBe(2);
  });

  test('is else the thinnest', () => {
    const sheet = partOf('sheet', { lengthMm: 40, widthMm: 20, thicknessMm: 0.5 });
    const box = partOf('box', { lengthMm: 9, widthMm: 9, heightMm: 0.6 });
    expect(decidingPart(pieceOf([ball, wire, box]))).toBe(2);
    expect(decidingPart(pieceOf([ball, wire, box, sheet]))).toBe(3);
    expect(decidingPart(pieceOf([ball, ball]))).toBe(0);
  });

  test('is never a hanger and a measured area only where nothing else has a shape', () => {
    const thinHanger = partOf('hanger', { wireDiameterMm: 0.1, submergedLengthMm: 40 });
    expect(decidingPart(pieceOf([thinHanger, measured, ball]))).toBe(2);
    expect(decidingPart(pieceOf([thinHanger, measured]))).toBe(1);
  });
});

test('adding up an unknown kind is an error that names it', () => {
  const piece = pieceOf([ball, { ...ball, kind: 'cube' }]);
  expect(() => pieceGrowth(piece)).toThrow('parts[1].kind is "cube"; there is no such part');
  expect(() => pieceClosesAtMm(piece)).toThrow(RangeError);
});
