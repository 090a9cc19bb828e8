/** The materials that a piece lists: each once, and not more than a maker can look through. */

import { expect, test } from 'vitest';
import type { PieceDescription, PieceMaterial } from '../../daemon/piece/model.ts';
import { pieceGrowth, pieceProblems } from '../../daemon/piece/piece.ts';
import { pieceSchema } from '../../daemon/wire/piece.ts';

function pod(materials?: readonly PieceMaterial[]): PieceDescription {
  const sizes = { diameterMm: 18 };
  const head = { kind: 'ball', label: 'head', count: 1, platedFraction: 1, sizes };
  return {
    name: 'Seed pod',
    parts: [head],
    areaUncertainty: 0.1,
    ...(materials !== undefined && { materials }),
  };
}

test('materials are a list beside the parts and change nothing about the surface', () => {
  const piece = pod([{ id: 'seed-pod', note: 'the whole head' }, { id: 'an-unknown-one' }]);
  expect(pieceProblems(piece)).toEqual([]);
  expect(pieceSchema.parse(piece)).toEqual(piece);
  expect(pieceGrowth(piece)).toEqual(pieceGrowth(pod()));
});

test('a material that is named twice is refused by its place in the list', () => {
  const problems = pieceProblems(pod([{ id: 'resin' }, { id: 'glass' }, { id: 'resin' }]));
  expect(problems.map(({ field, value, bound }) => [field, value, bound])).toEqual([
    ['materials[2].id', '"resin"', 'named once'],
  ]);
});

test('fifty materials are taken and one more is refused, by the arithmetic and the schema', () => {
  const many = Array.from({ length: 51 }, (_, index) => ({ id: `material-${index}` }));
  expect(pieceProblems(pod(many.slice(1)))).toEqual([]);
  expect(pieceSchema.safeParse(pod(many.slice(1))).success).toBe(true);
  expect(pieceProblems(pod(many))).toMatchObject([
    { field: 'materials', value: '51 materials', bound: 'at most 50 materials' },
  ]);
  expect(pieceSchema.safeParse(pod(many)).success).toBe(false);
});
