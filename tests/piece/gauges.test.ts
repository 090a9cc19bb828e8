/** American Wire Gauge against ASTM B258, both ways. */

import * as fc from 'fast-check';
import { expect, test } from 'vitest';
import { awgFromDiameterMm, diameterMmFromAwg } from '../../daemon/piece/gauges.ts';

// Diameters in inches as printed to a tenth of a mil. Source: ASTM B258 (4/0 and 36 define it;
// the rows between agree with conversion tables printed from it).
const rows: readonly (readonly [number, number])[] = [
  [-3, 0.46],
  [10, 0.1019],
  [11, 0.0907],
  [12, 0.0808],
  [13, 0.072],
  [14, 0.0641],
  [15, 0.0571],
  [16, 0.0508],
  [17, 0.0453],
  [18, 0.0403],
  [19, 0.0359],
  [20, 0.032],
  [21, 0.0285],
  [22, 0.0253],
  [23, 0.0226],
  [24, 0.0201],
  [25, 0.0179],
  [26, 0.0159],
  [27, 0.0142],
  [28, 0.0126],
  [29, 0.0113],
  [30, 0.01],
  [36, 0.005],
];

test.each(rows)('gauge %i is %d in, within the rounding of its print', (gauge, inches) => {
  const halfLastDigit = 0.000_05;
  expect(Math.abs(diameterMmFromAwg(gauge) / 25.4 - inches)).toBeLessThanOrEqual(
    halfLastDigit * (1 + 1e-9),
  );
});

test.each(rows.filter(([gauge]) => gauge <= 30))(
  'gauge %i is the nearest to %d in',
  (gauge, inches) => {
    expect(Math.round(awgFromDiameterMm(inches * 25.4))).toBe(gauge);
  },
);

test('the two defining sizes are exact', () => {
  expect(diameterMmFromAwg(36)).toBe(0.127);
  expect(diameterMmFromAwg(-3)).toBeCloseTo(0.46 * 25.4, 12);
});

test('one gauge is a ratio of 1.122932 and six are 2.0050', () => {
  // ASTM B258: the thirty-ninth root of 92.
  expect(diameterMmFromAwg(19) / diameterMmFromAwg(20)).toBeCloseTo(1.122932, 6);
  expect(diameterMmFromAwg(14) / diameterMmFromAwg(20)).toBeCloseTo(2.005, 4);
});

test('gauge to diameter and back is the same gauge', () => {
  fc.assert(
    fc.property(fc.integer({ min: -3, max: 40 }), (gauge) => {
      expect(awgFromDiameterMm(diameterMmFromAwg(gauge))).toBeCloseTo(gauge, 10);
    }),
  );
});

test.each([-4, 41, 20.5, Number.NaN, Number.POSITIVE_INFINITY])('gauge %s is refused', (gauge) => {
  expect(() => diameterMmFromAwg(gauge)).toThrow(RangeError);
  expect(() => diameterMmFromAwg(gauge)).toThrow(
    `gauge is ${gauge}; it must be a whole number from -3 (4/0) to 40`,
  );
});

test.each([0, -1, 0.07, 13, Number.NaN, Number.POSITIVE_INFINITY])(
  'a wire of %s mm is refused',
  (diameter) => {
    expect(() => awgFromDiameterMm(diameter)).toThrow(RangeError);
    expect(() => awgFromDiameterMm(diameter)).toThrow(`diameterMm is ${diameter}; it must be`);
  },
);
