/** What a refused save of a piece is stuck on, by what the daemon answers, and what of a draft goes then. */

import { describe, expect, it } from 'vitest';
import { ApiError } from '../../dashboard/api.ts';
import { newPart, newPieceDraft, newTrace } from '../../dashboard/piece/draft.ts';
import { dropPhotos, stuckOn } from '../../dashboard/piece/library-stuck.ts';

const problem = (field: string, value: string, bound: string) => ({
  field,
  value,
  bound,
  message: `${field} is ${value}; it must be ${bound}.`,
});
const gone = problem('piece.parts[1].outline.pictureId', 'f'.repeat(64), 'the id of a picture');

describe('a save that is refused', () => {
  it.each([
    ['newer', 409, [problem('version', '1', '3')], { kind: 'newer', version: 3 }],
    ['archived', 409, [problem('archived', 'true', 'false')], { kind: 'archived' }],
    ['unknown', 404, [], { kind: 'unknown' }],
    ['photo', 422, [gone], { kind: 'photo', ids: ['f'.repeat(64)] }],
  ])('has ways out where it is stuck on: %s', (_name, status, problems, stuck) => {
    expect(stuckOn(new ApiError('Refused.', status, problems))).toEqual(stuck);
  });

  it('has none where something else is wrong, or wrong as well, or nobody answered', () => {
    const size = problem('piece.areaUncertainty', '0.95', 'at most 0.5');
    expect(stuckOn(new ApiError('Refused.', 422, [size]))).toBeNull();
    expect(stuckOn(new ApiError('Refused.', 422, [gone, size]))).toBeNull();
    expect(stuckOn(new ApiError('Busy.', 409, []))).toBeNull();
    expect(stuckOn(new ApiError('The daemon does not answer.', 0))).toBeNull();
    expect(stuckOn(new Error('Something else.'))).toBeNull();
  });
});

it('photos that are gone are left out of every part that names them, and the traces stay', () => {
  const traced = (pictureId: string) => {
    const picturePoints = [
      { x: 0, y: 0 },
      { x: 9, y: 0 },
      { x: 9, y: 9 },
    ];
    return { ...newPart('outline'), outline: { ...newTrace(), pictureId, picturePoints } };
  };
  const parts = [traced('a'), newPart('wire'), traced('b'), traced('a')];
  const draft = { ...newPieceDraft(), parts: structuredClone(parts) };
  dropPhotos(draft, ['a']);
  expect(draft.parts.map(({ outline }) => outline?.pictureId)).toEqual([
    null,
    undefined,
    'b',
    null,
  ]);
  expect(draft.parts.map(({ outline }) => outline?.picturePoints)).toEqual(
    parts.map(({ outline }) => outline?.picturePoints),
  );
});
