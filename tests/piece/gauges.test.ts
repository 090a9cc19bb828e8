/** Wire gauges against published tables, both ways, and as makers type them. */

import * as fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  awgFromDiameterMm,
  diameterMmFromAwg,
  diameterMmFromGauge,
  diameterMmFromSwg,
  gaugeLabel,
  gaugeScales,
  nearestGauge,
  parseGauge,
  parseWireDiameterMm,
} from '../../daemon/piece/gauges.ts';

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

// Gauge, inches, mm as printed. Source: The Engineering ToolBox, "SWG - Standard Wire Gauge", a table
// of BS 3737; the standard itself was not opened. (Its 1/0 row prints 8.236 mm for 0.324 in.)
const swgRows: readonly (readonly [number, number, number])[] = [
  [-6, 0.5, 12.7],
  [-5, 0.464, 11.786],
  [-4, 0.432, 10.973],
  [-3, 0.4, 10.16],
  [-2, 0.372, 9.449],
  [-1, 0.348, 8.839],
  [0, 0.324, 8.23],
  [1, 0.3, 7.62],
  [2, 0.276, 7.01],
  [3, 0.252, 6.401],
  [4, 0.232, 5.893],
  [5, 0.212, 5.385],
  [6, 0.192, 4.877],
  [7, 0.176, 4.47],
  [8, 0.16, 4.064],
  [9, 0.144, 3.658],
  [10, 0.128, 3.251],
  [11, 0.116, 2.946],
  [12, 0.104, 2.642],
  [13, 0.092, 2.337],
  [14, 0.08, 2.032],
  [15, 0.072, 1.829],
  [16, 0.064, 1.626],
  [17, 0.056, 1.422],
  [18, 0.048, 1.219],
  [19, 0.04, 1.016],
  [20, 0.036, 0.914],
  [21, 0.032, 0.813],
  [22, 0.028, 0.711],
  [23, 0.024, 0.61],
  [24, 0.022, 0.559],
  [25, 0.02, 0.508],
  [26, 0.018, 0.457],
  [27, 0.0164, 0.417],
  [28, 0.0148, 0.376],
  [29, 0.0136, 0.345],
  [30, 0.0124, 0.315],
  [31, 0.0116, 0.295],
  [32, 0.0108, 0.274],
  [33, 0.01, 0.254],
  [34, 0.0092, 0.234],
  [35, 0.0084, 0.213],
  [36, 0.0076, 0.193],
  [37, 0.0068, 0.173],
  [38, 0.006, 0.152],
  [39, 0.0052, 0.132],
  [40, 0.0048, 0.122],
  [41, 0.0044, 0.112],
  [42, 0.004, 0.102],
  [43, 0.0036, 0.091],
  [44, 0.0032, 0.081],
  [45, 0.0028, 0.071],
  [46, 0.0024, 0.061],
  [47, 0.002, 0.051],
  [48, 0.0016, 0.041],
  [49, 0.0012, 0.03],
  [50, 0.001, 0.025],
];

test.each(swgRows)('SWG %i is %d in and %d mm', (gauge, inches, mm) => {
  const found = diameterMmFromSwg(gauge);
  expect(found / 25.4).toBeCloseTo(inches, 9);
  expect(Math.abs(found - mm)).toBeLessThanOrEqual(0.000_5 * (1 + 1e-9));
  expect(nearestGauge('swg', found)).toMatchObject({ gauge, differenceMm: 0 });
});

test('from number 1 on, SWG is thicker than AWG', () => {
  for (let gauge = 1; gauge <= 40; gauge += 1) {
    expect(diameterMmFromSwg(gauge)).toBeGreaterThan(diameterMmFromAwg(gauge));
  }
  expect(diameterMmFromSwg(0)).toBeLessThan(diameterMmFromAwg(0));
});

test('a higher gauge is always a thinner wire', () => {
  for (const { id, thickest, thinnest } of gaugeScales) {
    for (let gauge = thickest; gauge < thinnest; gauge += 1) {
      expect(diameterMmFromGauge(id, gauge + 1)).toBeLessThan(diameterMmFromGauge(id, gauge));
    }
  }
});

test.each([-7, 51, 20.5, Number.NaN])('SWG %s is refused', (gauge) => {
  expect(() => diameterMmFromSwg(gauge)).toThrow(
    `gauge is ${gauge}; it must be a whole number from -6 (7/0) to 50`,
  );
});

test('the nearest gauge is said in words, and none is named for wire beyond the scale', () => {
  expect(nearestGauge('awg', 0.8118)?.words).toBe('20 AWG');
  expect(nearestGauge('awg', 0.8)?.words).toBe('20 AWG, 0.01 mm thinner');
  expect(nearestGauge('swg', 1)?.words).toBe('19 SWG, 0.02 mm thinner');
  expect(nearestGauge('awg', 0.085)?.words).toBe('39 AWG, 0.005 mm thinner');
  expect(nearestGauge('awg', 11.7)?.label).toBe('4/0 AWG');
  expect(nearestGauge('awg', 14)).toBeNull();
  expect(nearestGauge('awg', 0.05)).toBeNull();
  expect(() => nearestGauge('awg', 0)).toThrow('diameterMm is 0');
});

test('the nearest gauge is never further than half the way to its neighbour', () => {
  fc.assert(
    fc.property(
      fc.constantFrom('awg', 'swg'),
      fc.double({ min: 0.1, max: 10, noNaN: true }),
      (id, diameter) => {
        const nearest = nearestGauge(id, diameter);
        const ratioToNearest = Math.log(diameter / (nearest?.diameterMm ?? Number.NaN));
        // The widest step above 0.1 mm is that of SWG from 18 to 19, 48 to 40 thousandths.
        expect(Math.abs(ratioToNearest)).toBeLessThanOrEqual(Math.log(48 / 40) / 2 + 1e-9);
      },
    ),
  );
});

test('every label is read back', () => {
  for (const { id, thickest, thinnest } of gaugeScales) {
    for (let gauge = thickest; gauge <= thinnest; gauge += 1) {
      expect(parseGauge(id, gaugeLabel(id, gauge))).toEqual({ ok: true, value: gauge });
    }
  }
});

test.each([
  ['awg', '18', 18],
  ['awg', '18 AWG', 18],
  ['awg', 'AWG18', 18],
  ['awg', '18 ga', 18],
  ['awg', '18 gauge', 18],
  ['awg', '#18', 18],
  ['awg', '4/0', -3],
  ['awg', '0000', -3],
  ['awg', '00', -1],
  ['awg', '0', 0],
  ['swg', '7/0', -6],
  ['swg', 'SWG 20', 20],
] as const)('%s "%s" is gauge %d', (scale, text, gauge) => {
  expect(parseGauge(scale, text)).toEqual({ ok: true, value: gauge });
});

test.each([
  ['awg', '', 'gauge is empty; it must be a whole AWG gauge from 4/0 to 40'],
  ['awg', '41', 'gauge is "41"'],
  ['awg', '5/0', 'gauge is "5/0"'],
  ['awg', '18.5', 'gauge is "18.5"'],
  ['awg', '18 SWG', 'SWG is another gauge'],
  ['swg', '51', 'from 7/0 to 50'],
] as const)('%s "%s" is refused', (scale, text, words) => {
  const answer = parseGauge(scale, text);
  expect(answer.ok ? '' : answer.problem.message).toContain(words);
});

test.each([
  ['0.8 mm', 0.8],
  ['0,8mm', 0.8],
  ['1/16 in', 1.5875],
  ['0.032"', 0.8128],
  ['36 awg', 0.127],
  ['18 SWG', 1.2192],
])('a wire of "%s" is %d mm across', (text, diameter) => {
  const answer = parseWireDiameterMm(text);
  expect(answer.ok ? answer.value : Number.NaN).toBeCloseTo(diameter, 12);
});

test.each([
  ['18', 'It may be millimetres, inches or a gauge: say which.'],
  ['18 ga', 'wire is "18 ga"; it must be a size with its unit'],
  ['thick', 'wire is "thick"; it must be a size with its unit'],
  ['0 mm', 'wire is "0 mm"; it must be from 0.01 mm to 100 mm across'],
  ['20 in', 'from 0.01 mm to 100 mm across'],
  ['44 awg', 'a whole AWG gauge from 4/0 to 40'],
])('a wire of "%s" is refused', (text, words) => {
  const answer = parseWireDiameterMm(text, 'wire');
  expect(answer.ok ? '' : answer.problem.message).toContain(words);
});
