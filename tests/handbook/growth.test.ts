/**
 * Growth of simple solids against numbers worked out by hand from the formulas of Steiner and
 * Minkowski and of Pappus, printed here to the digits given.
 */

import { describe, expect, test } from 'vitest';
import { chargeAmpHoursFromVolume, volumeMm3FromCharge } from '../../daemon/chemistry/faraday.ts';
import { metals } from '../../daemon/chemistry/metals.ts';
import { areaMm2At, thicknessMmAtVolume, volumeMm3At } from '../../daemon/piece/growth.ts';
import { diameterMmFromAwg } from '../../daemon/piece/gauges.ts';
import { pieceGrowth } from '../../daemon/piece/piece.ts';
import { definitionOf, partOf, pieceOf } from '../piece/arbitraries.ts';

const copper = metals['copper-II'];

/** Within half of the last of that many decimal places. */
function expectPrinted(value: number, printed: number, decimals: number): void {
  expect(Math.abs(value - printed)).toBeLessThanOrEqual(0.5 * 10 ** -decimals * (1 + 1e-9));
}

test('a ball of 20 mm grown by 0.3 mm takes 388.414 mm3, where its flat area would say 376.991', () => {
  const growth = definitionOf('ball').growth({ sizes: { diameterMm: 20 } });
  expectPrinted(volumeMm3At(growth, 0.3), 388.414, 3);
  expectPrinted(growth.areaMm2 * 0.3, 376.991, 3);
});

test('a box of 20 x 10 x 5 mm grown by 0.3 mm takes 210.0 + 9.896 + 0.113 = 220.009 mm3', () => {
  const growth = definitionOf('box').growth({ sizes: { lengthMm: 20, widthMm: 10, heightMm: 5 } });
  expectPrinted(growth.areaMm2 * 0.3, 210, 3);
  expectPrinted(growth.meanCurvatureMm * 0.3 ** 2, 9.896, 3);
  expectPrinted(growth.gaussThird * 0.3 ** 3, 0.113, 3);
  expectPrinted(volumeMm3At(growth, 0.3), 220.009, 3);
});

test('a rod of r 5 and 20 mm grown by 0.3 mm takes 235.619 + 10.096 + 0.113 = 245.829 mm3', () => {
  const sizes = { diameterMm: 10, lengthMm: 20, ends: 0 };
  const growth = definitionOf('rod').growth({ sizes });
  expectPrinted(growth.areaMm2 * 0.3, 235.619, 3);
  expectPrinted(growth.meanCurvatureMm * 0.3 ** 2, 10.096, 3);
  expectPrinted(growth.gaussThird * 0.3 ** 3, 0.113, 3);
  expectPrinted(volumeMm3At(growth, 0.3), 245.829, 3);
});

test('a ring of R 9.2 mm in wire of r 1.0 mm grown by 0.3 mm', () => {
  const growth = definitionOf('loop').growth({
    sizes: { insideDiameterMm: 16.4, wireDiameterMm: 2 },
  });
  const volume = volumeMm3At(growth, 0.3);
  expectPrinted(volume, 125.304, 3);
  expectPrinted(growth.areaMm2, 363.2, 2);
  expectPrinted(areaMm2At(growth, 0.3), 472.16, 2);
  expectPrinted((volume / 1000) * copper.densityGramsPerCm3, 1.1227, 4);
  expectPrinted(chargeAmpHoursFromVolume(copper, volume, 1), 0.9471, 4);
});

// Metal needed over the flat estimate, 1 + t / 2r; area over the first area, 1 + t / r; diameter.
const wires = [
  { awg: 16, t: 0.1, metal: 1.077, area: 1.155, diameterMm: 1.491 },
  { awg: 16, t: 0.3, metal: 1.232, area: 1.465, diameterMm: 1.891 },
  { awg: 16, t: 0.5, metal: 1.387, area: 1.775, diameterMm: 2.291 },
  { awg: 20, t: 0.1, metal: 1.123, area: 1.246, diameterMm: 1.012 },
  { awg: 20, t: 0.3, metal: 1.37, area: 1.739, diameterMm: 1.412 },
  { awg: 20, t: 0.5, metal: 1.616, area: 2.232, diameterMm: 1.812 },
  { awg: 24, t: 0.1, metal: 1.196, area: 1.392, diameterMm: 0.711 },
  { awg: 24, t: 0.3, metal: 1.588, area: 2.175, diameterMm: 1.111 },
  { awg: 24, t: 0.5, metal: 1.979, area: 2.959, diameterMm: 1.511 },
  { awg: 28, t: 0.1, metal: 1.311, area: 1.623, diameterMm: 0.521 },
  { awg: 28, t: 0.3, metal: 1.934, area: 2.869, diameterMm: 0.921 },
  { awg: 28, t: 0.5, metal: 2.557, area: 4.114, diameterMm: 1.321 },
];

test.each(wires)('$awg AWG wire grown by $t mm', ({ awg, t, metal, area, diameterMm }) => {
  const wireDiameterMm = diameterMmFromAwg(awg);
  const growth = definitionOf('wire').growth({ sizes: { wireDiameterMm, lengthMm: 100 } });
  expectPrinted(volumeMm3At(growth, t) / (growth.areaMm2 * t), metal, 3);
  expectPrinted(areaMm2At(growth, t) / growth.areaMm2, area, 3);
  expectPrinted(wireDiameterMm + 2 * t, diameterMm, 3);
});

describe('bodies whose grown area is known: A(t) = A + 2 M t + 4 pi (1 - g) t^2', () => {
  const { PI } = Math;
  const t = 0.4;
  const bodies = [
    { kind: 'ball', sizes: { diameterMm: 6 }, area: 4 * PI * (3 + t) ** 2 },
    {
      kind: 'loop',
      sizes: { insideDiameterMm: 17, wireDiameterMm: 0.8 },
      area: 4 * PI ** 2 * 8.9 * (0.4 + t),
    },
    {
      kind: 'box',
      sizes: { lengthMm: 20, widthMm: 10, heightMm: 1 },
      area: 460 + 2 * PI * 31 * t + 4 * PI * t ** 2,
    },
    {
      // Half-round rim of radius s 0.5 on a mid-face of 39 x 19 mm.
      kind: 'sheet',
      sizes: { lengthMm: 40, widthMm: 20, thicknessMm: 1 },
      area: 2 * 39 * 19 + PI * 116 * (0.5 + t) + 4 * PI * (0.5 + t) ** 2,
    },
    {
      // Round ends: 2 pi (r + t) L + 4 pi (r + t)^2 with L between the ends.
      kind: 'rod',
      sizes: { diameterMm: 2, lengthMm: 32, ends: 1 },
      area: 2 * PI * (1 + t) * 30 + 4 * PI * (1 + t) ** 2,
    },
    {
      // A disc of r and no thickness: 2 pi r^2 + 2 pi^2 r t + 4 pi t^2.
      kind: 'disc',
      sizes: { diameterMm: 20, thicknessMm: 1e-12, holeDiameterMm: 0 },
      area: 2 * PI * 100 + 2 * PI ** 2 * 10 * t + 4 * PI * t ** 2,
    },
    {
      // Regular tetrahedron of edge a: sqrt(3) a^2, and six edges of acos(-1 / 3).
      kind: 'crystal',
      sizes: {
        sides: 3,
        acrossFlatsMm: 12 / Math.sqrt(3),
        prismLengthMm: 0,
        pointHeightMm: 12 * Math.sqrt(2 / 3),
        base: 1,
      },
      area: Math.sqrt(3) * 144 + 6 * 12 * Math.acos(-1 / 3) * t + 4 * PI * t ** 2,
    },
  ];

  test.each(bodies)('$kind', ({ kind, sizes, area }) => {
    expect(areaMm2At(definitionOf(kind).growth({ sizes }), t)).toBeCloseTo(area, 9);
  });
});

test('0.30 dm2 at 1.5 A/dm2 for 8 h is 3.600 A·h, 4.268 g of copper and 158.8 um', () => {
  const ampHours = 0.3 * 1.5 * 8;
  expectPrinted(ampHours, 3.6, 3);
  const volume = volumeMm3FromCharge(copper, ampHours, 1);
  expectPrinted((volume / 1000) * copper.densityGramsPerCm3, 4.268, 3);
  const piece = pieceOf([partOf('measured', { areaMm2: 3000 })]);
  expectPrinted(thicknessMmAtVolume(pieceGrowth(piece), volume) * 1000, 158.8, 1);
});

// Hours at 100 % efficiency on a flat area: um, then hours at 1, 1.5, 1.55, 2 and 3 A/dm2.
test.each([
  { micrometres: 50, hours: [3.8, 2.5, 2.4, 1.9, 1.3] },
  { micrometres: 100, hours: [7.6, 5.0, 4.9, 3.8, 2.5] },
  { micrometres: 200, hours: [15.1, 10.1, 9.8, 7.6, 5.0] },
  { micrometres: 300, hours: [22.7, 15.1, 14.6, 11.3, 7.6] },
  { micrometres: 500, hours: [37.8, 25.2, 24.4, 18.9, 12.6] },
])('$micrometres um of copper on a flat area', ({ micrometres, hours }) => {
  const squareDecimetreMm2 = 10_000;
  const ampHours = chargeAmpHoursFromVolume(copper, (squareDecimetreMm2 * micrometres) / 1000, 1);
  [1, 1.5, 1.55, 2, 3].forEach((density, index) => {
    expectPrinted(ampHours / density, hours[index] ?? Number.NaN, 1);
  });
});
