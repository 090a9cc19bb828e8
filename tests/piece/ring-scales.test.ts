/** Ring sizes against published scales, both ways, and as makers type them. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import {
  insideDiameterMmFromSize,
  nearestRingSize,
  parseRingSize,
  ringScale,
  ringScales,
  ringSizeLabel,
  ringSizeWords,
  sizeFromInsideDiameterMm,
  sizesLostToDeposit,
} from '../../daemon/piece/ring-scales.ts';

const anyScale = fc.constantFrom(...ringScales.map(({ id }) => id));

/** Within half of the last of that many decimal places. */
function expectPrinted(value: number, printed: number, decimals: number): void {
  expect(Math.abs(value - printed)).toBeLessThanOrEqual(0.5 * 10 ** -decimals * (1 + 1e-9));
}

describe('every scale', () => {
  test('gives a size back from its diameter', () => {
    fc.assert(
      fc.property(anyScale, fc.double({ min: 0, max: 1, noNaN: true }), (id, share) => {
        const { min, max } = ringScale(id);
        const size = Math.min(max, min + share * (max - min));
        expect(sizeFromInsideDiameterMm(id, insideDiameterMmFromSize(id, size))).toBeCloseTo(
          size,
          9,
        );
      }),
    );
  });

  test('gives a wider ring for a larger size', () => {
    for (const { id, min, max, step } of ringScales) {
      for (let size = min; size + step <= max; size += step) {
        expect(insideDiameterMmFromSize(id, size + step)).toBeGreaterThan(
          insideDiameterMmFromSize(id, size),
        );
      }
    }
  });

  test('reads back every label it writes', () => {
    for (const { id, min, max, step } of ringScales) {
      for (let size = min; size <= max; size += step) {
        expect(parseRingSize(id, ringSizeLabel(id, size))).toEqual({ ok: true, value: size });
      }
    }
  });

  test('has a nearest size within half a step, with the remainder left over', () => {
    fc.assert(
      fc.property(anyScale, fc.double({ min: 13.1, max: 22, noNaN: true }), (id, diameter) => {
        const nearest = nearestRingSize(id, diameter);
        const { step, diameterMmPerSize } = ringScale(id);
        expect(nearest?.remainderMm).toBeCloseTo(diameter - (nearest?.insideDiameterMm ?? 0), 12);
        expect(Math.abs(nearest?.remainderMm ?? Infinity)).toBeLessThanOrEqual(
          (step / 2) * diameterMmPerSize * (1 + 1e-9),
        );
      }),
    );
  });
});

// Inside diameter and circumference, mm. Source: Wikipedia, Ring size, conversion chart (which rounds
// to 0.01 and 0.1 mm); sizes 5.5 to 13 are 0.458 in + 0.032 in each, of the same article.
test.each([
  [0, 11.63, 36.5],
  [0.25, 11.84, 37.2],
  [0.5, 12.04, 37.8],
  [1, 12.45, 39.1],
  [2, 13.26, 41.7],
  [3, 14.07, 44.2],
  [4, 14.88, 46.7],
  [4.5, 15.29, 48.0],
  [5, 15.7, 49.3],
  [6, 16.51, 51.9],
  [7, 17.32, 54.4],
  [7.5, 17.73, 55.7],
  [8, 18.14, 57.0],
  [9, 18.95, 59.5],
  [10, 19.76, 62.1],
  [11, 20.57, 64.6],
  [12, 21.39, 67.2],
  [13, 22.2, 69.7],
])('US %d is %d mm across and %d mm round', (size, diameter, circumference) => {
  const found = insideDiameterMmFromSize('us', size);
  expectPrinted(found, diameter, 2);
  // The chart rounds an already rounded inch: its last digit may be one off.
  expect(Math.abs(found * Math.PI - circumference)).toBeLessThan(0.1);
});

// Source: ISO 8653, by which the size is the inner circumference in mm.
test.each([
  [43, 13.69],
  [49, 15.6],
  [52, 16.55],
  [54, 17.19],
  [57, 18.14],
  [60, 19.1],
  [65, 20.69],
])('ISO %d is %d mm across', (size, diameter) => {
  expectPrinted(insideDiameterMmFromSize('iso', size), diameter, 2);
  expect(insideDiameterMmFromSize('iso', size) * Math.PI).toBeCloseTo(size, 12);
});

// Circumference, mm. Source: R. Rowlett, How Many?, "ring size": 36.25 + 1.25 n with A = 1, so that C
// is 40 mm round and four letters are 5 mm.
test.each([
  ['A', 37.5],
  ['C', 40],
  ['H', 46.25],
  ['M', 52.5],
  ['N', 53.75],
  ['N 1/2', 54.375],
  ['T', 61.25],
  ['Z', 68.75],
])('UK %s is %d mm round', (letter, circumference) => {
  const size = parseRingSize('uk', letter);
  if (!size.ok) throw new Error(size.problem.message);
  expect(insideDiameterMmFromSize('uk', size.value) * Math.PI).toBeCloseTo(circumference, 9);
});

// Source: R. Rowlett, How Many?: (n + 38) / 3 mm across, 39.8 + 1.047 n mm round.
test.each([1, 7, 14, 22, 30])('Japan %d is (n + 38) / 3 mm across', (size) => {
  const diameter = insideDiameterMmFromSize('japan', size);
  expect(diameter).toBeCloseTo((size + 38) / 3, 12);
  expect(Math.abs(diameter * Math.PI - (39.8 + 1.047 * size))).toBeLessThan(0.03);
});

// Both follow from the two scales above; printed so in no source.
test('the scales agree where they meet: UK N is US 6.74 and O is 7.23', () => {
  const inUs = (size: number) =>
    sizeFromInsideDiameterMm('us', insideDiameterMmFromSize('uk', size));
  expectPrinted(inUs(14), 6.74, 2);
  expectPrinted(inUs(15), 7.23, 2);
});

test('a tenth of a millimetre of deposit costs 0.246 US sizes and 0.63 ISO sizes', () => {
  // From the definitions: 0.2 / 0.8128, and 0.2 pi.
  expectPrinted(sizesLostToDeposit('us', 0.1), 0.246, 3);
  expectPrinted(sizesLostToDeposit('iso', 0.1), 0.63, 2);
  expectPrinted(sizesLostToDeposit('us', 0.3), 0.74, 2);
  expectPrinted(sizesLostToDeposit('iso', 0.3), 1.9, 1);
});

describe('words', () => {
  test('name the size and what is left over', () => {
    expect(ringSizeWords('us', insideDiameterMmFromSize('us', 7.5))).toBe('US 7 1/2');
    expect(ringSizeWords('us', 17.37)).toBe('US 7, 0.05 mm wider');
    expect(ringSizeWords('iso', 17.1)).toBe('ISO 54, 0.09 mm narrower');
    expect(ringSizeWords('uk', 17.3)).toBe('UK N 1/2, 0.01 mm narrower');
    expect(ringSizeWords('uk', 70 / Math.PI)).toBe('UK Z+1');
  });

  test('say which end of the scale was passed', () => {
    expect(ringSizeWords('us', 10)).toBe('smaller than US 0');
    expect(ringSizeWords('uk', 30)).toBe('larger than UK Z+6');
    expect(nearestRingSize('japan', 40)).toBeNull();
  });

  test('write sizes between the made ones as decimals', () => {
    expect(ringSizeLabel('us', 6.74)).toBe('6.74');
    expect(ringSizeLabel('us', 0.5)).toBe('1/2');
    expect(ringSizeLabel('us', 0)).toBe('0');
    expect(ringSizeLabel('uk', 14.3)).toBe('N + 0.30');
  });
});

test.each([
  ['us', '7', 7],
  ['us', ' 7 1/2 ', 7.5],
  ['us', '7½', 7.5],
  ['us', '7-1/2', 7.5],
  ['us', '7.5', 7.5],
  ['us', '7,5', 7.5],
  ['us', 'US 7 3/4', 7.75],
  ['us', 'size 6', 6],
  ['us', '1/2', 0.5],
  ['uk', 'N½', 14.5],
  ['uk', 'n 1/2', 14.5],
  ['uk', 'N.5', 14.5],
  ['uk', 'N half', 14.5],
  ['uk', 'UK N', 14],
  ['uk', 'Z+2', 28],
  ['uk', 'Z + 2 1/2', 28.5],
  ['uk', 'Z3', 29],
  ['iso', '54', 54],
  ['iso', '54.5', 54.5],
  ['iso', 'EU 54', 54],
  ['iso', 'Ring-size ISO 8653 - 43', 43],
  ['japan', 'JP 14', 14],
] as const)('%s "%s" is read as %d', (id, text, size) => {
  expect(parseRingSize(id, text)).toEqual({ ok: true, value: size });
});

test.each([
  ['us', '', 'ringSize is empty; it must be a ring size of the US scale, 0 to 16'],
  ['us', '17', 'ringSize is "17"; it must be a ring size of the US scale, 0 to 16'],
  ['us', '-1', 'ringSize is "-1"'],
  ['us', 'N', 'Letters are UK sizes.'],
  ['us', '7 1/0', 'ringSize is "7 1/0"'],
  ['us', 'ISO 54', 'It reads as a size of the ISO scale'],
  ['uk', '7', 'UK sizes are letters.'],
  ['uk', 'N 2', 'ringSize is "N 2"; it must be a ring size of the UK scale, A to Z+6'],
  ['uk', 'Z+7', 'ringSize is "Z+7"'],
  ['uk', 'NN', 'ringSize is "NN"'],
  ['uk', 'Z+', 'ringSize is "Z+"'],
  ['iso', '14', 'Type the whole inner circumference in mm.'],
  ['iso', 'Infinity', 'a ring size of the ISO scale, 38 to 80'],
  ['japan', '0', 'a ring size of the Japan scale, 1 to 30'],
] as const)('%s "%s" is refused', (id, text, words) => {
  const answer = parseRingSize(id, text);
  expect(answer).toMatchObject({ ok: false, problem: { field: 'ringSize' } });
  expect(answer.ok ? '' : answer.problem.message).toContain(words);
});

test('no text is ever more than refused', () => {
  fc.assert(
    fc.property(anyScale, fc.string({ maxLength: 60 }), (id, text) => {
      const answer = parseRingSize(id, text, 'size');
      const { min, max } = ringScale(id);
      if (answer.ok) {
        expect(answer.value).toBeGreaterThanOrEqual(min);
        expect(answer.value).toBeLessThanOrEqual(max);
      } else {
        expect(answer.problem.message).toContain('size is ');
      }
    }),
  );
});

test('impossible sizes and diameters are refused by name', () => {
  expect(() => insideDiameterMmFromSize('us', 17)).toThrow(
    'size is 17; it must be a size of the US scale, 0 to 16',
  );
  expect(() => insideDiameterMmFromSize('iso', Number.NaN)).toThrow(RangeError);
  for (const bad of [0, -1, Number.NaN, Number.POSITIVE_INFINITY]) {
    expect(() => sizeFromInsideDiameterMm('uk', bad)).toThrow(`insideDiameterMm is ${bad}`);
  }
});
