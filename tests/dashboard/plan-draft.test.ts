/** A plan as it is typed: nothing is lost, and what cannot be read says why. */

import { describe, expect, it } from 'vitest';
import { demoPlanRequest } from '../../daemon/run/demo.ts';
import { planRequestSchema } from '../../daemon/wire/plan.ts';
import {
  draftFrom,
  draftOf,
  inUnit,
  newDraft,
  requestOf,
  type Draft,
} from '../../dashboard/plan-draft.ts';
import { newPart, newPieceDraft } from '../../dashboard/piece/draft.ts';
import { numberFrom } from '../../dashboard/piece/typed.ts';

function draft(changes: Partial<Draft> = {}): Draft {
  return {
    ...newDraft(),
    tankId: 'beaker',
    bathId: 'acid-copper-still',
    density: '1.3',
    ...changes,
  };
}

describe('a number as it is typed', () => {
  it.each([
    ['1.5', 1.5],
    [' 0,75 ', 0.75],
    ['.5', 0.5],
    ['2e-1', 0.2],
    ['-3', -3],
  ])('%j is read as %d', (text, value) => {
    expect(numberFrom(text)).toBe(value);
  });

  it.each(['', ' ', '12O', '1.2.3', '1,000.5', 'Infinity', '0x10', '--1'])('%j is none', (text) => {
    expect(numberFrom(text)).toBeNaN();
  });
});

describe('a draft', () => {
  it('that is new asks for a plan the daemon can read', () => {
    const { request, problems } = requestOf(draft());
    expect(problems).toEqual([]);
    expect(planRequestSchema.safeParse(request).success).toBe(true);
  });

  it('names the field, the value and the bound of what it cannot read', () => {
    const part = { ...newPart('wire'), platedPercent: '120', count: '' };
    part.sizes['lengthMm'] = '12O';
    const { problems } = requestOf(
      draft({ piece: { ...newPieceDraft(), parts: [part] }, density: '0' }),
    );
    expect(problems).toEqual([
      expect.objectContaining({ field: 'piece.parts[0].sizes.lengthMm', value: '12O' }),
      expect.objectContaining({ field: 'piece.parts[0].count', value: 'empty' }),
      {
        field: 'piece.parts[0].platedFraction',
        value: '120',
        bound: 'a percentage from 0 to 100',
        message: 'piece.parts[0].platedFraction is 120; it must be a percentage from 0 to 100.',
      },
      expect.objectContaining({ field: 'densityAmpsPerDm2', bound: 'a number above 0' }),
    ]);
  });

  it('turns its density into A/dm2 (one square inch is 0.064516 dm2)', () => {
    const { request } = requestOf(draft({ density: '0.1', densityUnit: 'A/in2' }));
    expect(request.densityAmpsPerDm2).toBeCloseTo(0.1 / 0.064516, 12);
  });

  it('keeps the current when its unit is changed', () => {
    expect(inUnit('1.5', 'A/dm2', 'mA/cm2')).toBe('15');
    expect(inUnit('15', 'mA/cm2', 'A/dm2')).toBe('1.5');
    expect(inUnit('abc', 'A/dm2', 'mA/cm2')).toBe('abc');
  });

  it('asks for its own gentle start only when that is ticked', () => {
    expect(requestOf(draft()).request.start).toBeUndefined();
    const own = { ownStart: true, strikePercent: '25', strikeMinutes: '10', rampMinutes: '5' };
    expect(requestOf(draft(own)).request.start).toEqual({
      strikeShare: 0.25,
      strikeMinutes: 10,
      rampMinutes: 5,
    });
    const wrong = requestOf(draft({ ...own, strikePercent: '0' })).problems;
    expect(wrong.map(({ field }) => field)).toEqual(['start.strikeShare']);
  });

  it('made from a request asks for the same again', () => {
    const demo = demoPlanRequest('beaker', 'acid-copper-still');
    const wished = {
      ...demo,
      trickle: { densityAmpsPerDm2: 0.05, maxHours: 4 },
      start: { strikeShare: 0.3, strikeMinutes: 12, rampMinutes: 8 },
    };
    expect(requestOf(draftOf(demo)).request).toEqual(demo);
    expect(requestOf(draftOf(wished)).request).toEqual(wished);
  });

  it('comes back from what the browser kept, and begins anew where that is nonsense', () => {
    const typed = draft({ piece: { ...newPieceDraft(), name: 'Larch twig' }, density: '1.' });
    expect(draftFrom(JSON.stringify(typed))).toEqual(typed);
    for (const nonsense of [null, '', '{', '[]', '{"parts":7}', '{"parts":[{}]}', 'null']) {
      expect(draftFrom(nonsense).piece.parts.length).toBeGreaterThan(0);
    }
    const {
      key: _key,
      covered: _covered,
      outline: _outline,
      mesh: _mesh,
      ...old
    } = newPart('ball');
    const before = draftFrom(JSON.stringify({ name: 'Old', parts: [old], areaPercent: '7' }));
    expect(before, 'kept by an older page').toMatchObject({
      piece: { name: 'Old', parts: [old], areaPercent: '7', materials: [] },
      ownStart: false,
    });
    expect(Object.keys(before).filter((key) => key in newPieceDraft())).toEqual([]);
  });
});
