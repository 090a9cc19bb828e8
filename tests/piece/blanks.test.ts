/** Wire blanks and "end at this size", forwards and backwards, against worked examples. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Answer, Span } from '../../daemon/piece/answer.ts';
import {
  depositForFinishedRing,
  depositForFinishedWire,
  evenBoreShare,
  finishedInsideDiameter,
  startForFinishedRing,
  usualBoreShare,
  wireBlankLengthMm,
} from '../../daemon/piece/blanks.ts';
import { diameterMmFromAwg } from '../../daemon/piece/gauges.ts';
import { insideDiameterMmFromSize } from '../../daemon/piece/ring-scales.ts';

function exactly(value: number): Span {
  return { low: value, value, high: value };
}

function valueOf<Value>(answer: Answer<Value>): Value {
  if (!answer.ok) throw new Error(answer.problem.message);
  return answer.value;
}

// Source: two bench texts on ring blanks (common practice), which reckon with pi = 3.14 and take US 7
// as 17.35 mm; the exact length of the same sizes stands beside theirs.
test.each([
  { wireMm: 1.63, printed: 59.6, exact: 59.63 },
  { wireMm: 1.02, printed: 57.68, exact: 57.71 },
])('a blank of $wireMm mm wire for 17.35 mm inside is $exact mm', ({ wireMm, printed, exact }) => {
  const length = wireBlankLengthMm(17.35, wireMm);
  expect(Math.abs(length - exact)).toBeLessThanOrEqual(0.005);
  // Theirs is printed to a hundredth.
  expect(Math.abs((length / Math.PI) * 3.14 - printed)).toBeLessThanOrEqual(0.005 + 1e-9);
});

test('US 7 in 18 AWG by both formulas is 57.64 mm', () => {
  const length = wireBlankLengthMm(insideDiameterMmFromSize('us', 7), diameterMmFromAwg(18));
  expect(Math.abs(length - 57.64)).toBeLessThanOrEqual(0.005);
});

test('a blank without a size is refused by name', () => {
  expect(() => wireBlankLengthMm(0, 1)).toThrow(
    'insideDiameterMm is 0; it must be above 0 and at most 1000 mm.',
  );
  expect(() => wireBlankLengthMm(17, Number.NaN)).toThrow('radialThicknessMm is NaN');
});

describe('a ring that is to end at a size', () => {
  test('is wrapped wider by twice what the bore takes on', () => {
    // Worked by hand: 17.32 + 2 x 0.3 = 17.92; pi (17.92 + 1) = 59.44.
    const start = valueOf(
      startForFinishedRing({
        finishedInsideDiameterMm: 17.32,
        radialThicknessMm: 1,
        deposit: exactly(0.3),
        boreShare: evenBoreShare,
      }),
    );
    expect(start.insideDiameter.value).toBeCloseTo(17.92, 12);
    expect(start.blankLength.value).toBeCloseTo(59.44, 2);
  });

  test('has a range from that of the deposit and of the bore', () => {
    const { insideDiameter } = valueOf(
      startForFinishedRing({
        finishedInsideDiameterMm: 17,
        radialThicknessMm: 1,
        deposit: { low: 0.2, value: 0.3, high: 0.4 },
        boreShare: usualBoreShare,
      }),
    );
    expect(insideDiameter.low).toBeCloseTo(17 + 2 * 0.2 * 0.7, 12);
    expect(insideDiameter.value).toBeCloseTo(17 + 2 * 0.3 * 0.9, 12);
    expect(insideDiameter.high).toBeCloseTo(17 + 2 * 0.4, 12);
  });

  const anyShare = fc.double({ min: 0.3, max: 1, noNaN: true });

  test('comes out at that size again', () => {
    const diameter = fc.double({ min: 10, max: 30, noNaN: true });
    const thickness = fc.double({ min: 0, max: 2, noNaN: true });
    fc.assert(
      fc.property(diameter, thickness, anyShare, (finished, deposit, share) => {
        const boreShare = exactly(share);
        const start = valueOf(
          startForFinishedRing({
            finishedInsideDiameterMm: finished,
            radialThicknessMm: 1,
            deposit: exactly(deposit),
            boreShare,
          }),
        ).insideDiameter.value;
        const back = valueOf(finishedInsideDiameter(start, exactly(deposit), boreShare));
        expect(back.value).toBeCloseTo(finished, 9);
        const need = depositForFinishedRing({
          startInsideDiameterMm: start,
          finishedInsideDiameterMm: finished,
          boreShare,
        });
        expect(valueOf(need).value).toBeCloseTo(deposit, 9);
      }),
    );
  });

  test('needs more deposit the smaller it is to end', () => {
    fc.assert(
      fc.property(anyShare, anyShare, anyShare, (first, second, share) => {
        const need = (finishedInsideDiameterMm: number) =>
          valueOf(
            depositForFinishedRing({
              startInsideDiameterMm: 18,
              finishedInsideDiameterMm,
              boreShare: { low: share * 0.9, value: share, high: 1 },
            }),
          );
        const wide = need(17 + Math.max(first, second));
        const narrow = need(17 + Math.min(first, second));
        expect(narrow.value).toBeGreaterThanOrEqual(wide.value);
        expect(wide.low).toBeLessThanOrEqual(wide.value);
        expect(wide.high).toBeGreaterThanOrEqual(wide.value);
      }),
    );
  });

  test('cannot end wider than it began', () => {
    const answer = depositForFinishedRing({
      startInsideDiameterMm: 17,
      finishedInsideDiameterMm: 17.5,
      boreShare: usualBoreShare,
    });
    expect(answer).toMatchObject({
      ok: false,
      problem: {
        field: 'finishedInsideDiameterMm',
        value: '17.5',
        bound: 'at most startInsideDiameterMm, 17 mm',
      },
    });
    expect(answer.ok ? '' : answer.problem.message).toContain('wrap it wider');
  });

  test('is refused where its bore would close, naming the thickness', () => {
    const answer = finishedInsideDiameter(2, { low: 0.8, value: 1, high: 1.2 }, evenBoreShare);
    expect(answer.ok ? '' : answer.problem.message).toBe(
      'deposit.high is 1.2; it must be below 1.00 mm, at which the bore closes.',
    );
  });

  test.each([
    [{ finishedInsideDiameterMm: -1 }, 'finishedInsideDiameterMm is -1; it must be above 0'],
    [{ radialThicknessMm: 0 }, 'radialThicknessMm is 0'],
    [{ deposit: exactly(-0.1) }, 'deposit.low is -0.1; it must be from 0 to 10 mm.'],
    [{ deposit: exactly(Number.NaN) }, 'deposit.low is NaN'],
    [{ deposit: { low: 0.3, value: 0.2, high: 0.4 } }, 'deposit.low is 0.3; it must be at most'],
    [{ deposit: { low: 0.1, value: 0.2, high: 0.15 } }, 'deposit.high is 0.15'],
    [{ boreShare: exactly(0) }, 'boreShare.low is 0; it must be above 0 and at most 2.'],
  ])('refuses %j', (change, words) => {
    const answer = startForFinishedRing({
      finishedInsideDiameterMm: 17,
      radialThicknessMm: 1,
      deposit: exactly(0.3),
      boreShare: usualBoreShare,
      ...change,
    });
    expect(answer.ok ? '' : answer.problem.message).toContain(words);
  });
});

describe('a wire that is to end at a diameter', () => {
  // 20 AWG grown by 0.3 mm is 1.412 mm thick, by B258 and d + 2 t.
  test('takes half of what it gains', () => {
    const deposit = depositForFinishedWire({
      startDiameterMm: diameterMmFromAwg(20),
      finishedDiameterMm: 1.412,
    });
    expect(valueOf(deposit)).toBeCloseTo(0.3, 3);
  });

  test('cannot end thinner than it began', () => {
    const answer = depositForFinishedWire({ startDiameterMm: 1, finishedDiameterMm: 0.8 });
    expect(answer).toMatchObject({ ok: false, problem: { field: 'finishedDiameterMm' } });
    expect(answer.ok ? '' : answer.problem.message).toContain('start from a thinner wire');
  });
});
