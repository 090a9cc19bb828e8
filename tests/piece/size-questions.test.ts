/** Questions about sizes: each kind is answered by the arithmetic behind it, or refused by name. */

import { expect, test } from 'vitest';
import { boreShareSource, evenBoreShare, usualBoreShare } from '../../daemon/piece/blanks.ts';
import { answerSizeQuestion } from '../../daemon/piece/size-questions.ts';

const deposit = { low: 0.3, value: 0.3, high: 0.3 };

test('a typed ring size is given across, round, and in every scale', () => {
  const answer = answerSizeQuestion({ kind: 'ringSize', scale: 'us', typed: '7' });
  if (!answer.ok || answer.value.kind !== 'ring') throw new Error('No ring came back.');
  // US 7 is 17.32 mm across and 54.42 mm round: Wikipedia, Ring size, 0.458 in + 0.032 in each.
  expect(answer.value.insideDiameterMm).toBeCloseTo(0.682 * 25.4, 9);
  expect(answer.value.circumferenceMm).toBeCloseTo(54.42, 2);
  expect(answer.value.scales).toEqual([
    { scale: 'iso', size: 54, words: 'ISO 54, 0.13 mm wider' },
    { scale: 'us', size: 7, words: 'US 7' },
    { scale: 'uk', size: 14.5, words: 'UK N 1/2, 0.01 mm wider' },
    { scale: 'japan', size: 14, words: 'Japan 14, 0.01 mm narrower' },
  ]);
});

test('a diameter beyond a scale has no size there, and words all the same', () => {
  const answer = answerSizeQuestion({ kind: 'insideDiameter', insideDiameterMm: 5 });
  expect(answer).toMatchObject({
    ok: true,
    value: { scales: [{ size: null, words: 'smaller than ISO 38' }, {}, {}, {}] },
  });
});

test.each([-1, 0, Number.NaN, 5_000])('an inside diameter of %f mm is refused', (mm) => {
  const answer = answerSizeQuestion({ kind: 'insideDiameter', insideDiameterMm: mm });
  expect(answer).toMatchObject({ ok: false, problem: { field: 'insideDiameterMm' } });
});

test('a typed wire is given across and in both gauges', () => {
  const answer = answerSizeQuestion({ kind: 'wire', typed: '20 AWG' });
  expect(answer).toMatchObject({
    ok: true,
    value: {
      kind: 'wire',
      gauges: [
        { scale: 'awg', gauge: 20, words: '20 AWG' },
        { scale: 'swg', gauge: 21, words: '21 SWG' },
      ],
    },
  });
  const thick = answerSizeQuestion({ kind: 'wire', typed: '20 mm' });
  expect(thick).toMatchObject({
    value: { gauges: [{ gauge: null, words: 'beyond the AWG scale' }, { gauge: null }] },
  });
});

test('start and deposit are each the other turned round', () => {
  const start = answerSizeQuestion({
    kind: 'startForRing',
    finishedInsideDiameterMm: 17.32,
    radialThicknessMm: 1,
    deposit,
    boreShare: evenBoreShare,
  });
  if (!start.ok || start.value.kind !== 'ringStart') throw new Error('No start came back.');
  expect(start.value.insideDiameter.value).toBeCloseTo(17.92, 9);
  const back = answerSizeQuestion({
    kind: 'depositForRing',
    startInsideDiameterMm: start.value.insideDiameter.value,
    finishedInsideDiameterMm: 17.32,
    boreShare: evenBoreShare,
  });
  if (!back.ok || back.value.kind !== 'ringDeposit') throw new Error('No deposit came back.');
  expect(back.value.deposit.value).toBeCloseTo(0.3, 9);
  expect(
    answerSizeQuestion({ kind: 'depositForWire', startDiameterMm: 1, finishedDiameterMm: 1.5 }),
  ).toEqual({ ok: true, value: { kind: 'wireDeposit', depositMm: 0.25 } });
});

test('the usual share of a bore is taken where none is given, and its source is said', () => {
  const ring = { startInsideDiameterMm: 18, finishedInsideDiameterMm: 17.46 };
  const usual = answerSizeQuestion({ kind: 'depositForRing', ...ring });
  expect(usual).toMatchObject({ ok: true, value: { boreShare: usualBoreShare, boreShareSource } });
  if (!usual.ok || usual.value.kind !== 'ringDeposit') throw new Error('No deposit came back.');
  expect(usual.value.deposit.value).toBeCloseTo(0.27 / 0.9, 9);
  const own = answerSizeQuestion({ kind: 'depositForRing', ...ring, boreShare: evenBoreShare });
  expect(own).toMatchObject({ value: { boreShare: evenBoreShare, boreShareSource: null } });
});

test.each([
  [{ kind: 'ringSize', scale: 'uk', typed: '9' }, 'typed is "9"'],
  [{ kind: 'wire', typed: '18' }, 'typed is "18"'],
  [
    { kind: 'depositForWire', startDiameterMm: 2, finishedDiameterMm: 1 },
    'finishedDiameterMm is 1; it must be at least startDiameterMm, 2 mm.',
  ],
] as const)('%j is refused', (question, words) => {
  const answer = answerSizeQuestion(question);
  expect(answer.ok ? '' : answer.problem.message).toContain(words);
});
