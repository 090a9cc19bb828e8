/** Checks the crude cell model against its own equations and textbook geometry. */

import { describe, expect, test } from 'vitest';
import { bathOhms, cellVolts, overpotentialVolts } from '../../daemon/run/cell-voltage.ts';
import { stillCopper } from './plan-fixtures.ts';

const copperExchange = 0.1;

describe('overpotentials of copper', () => {
  // Butler-Volmer with i0 = 1 mA/cm2, alpha 0.5 and 1.5 (Mattsson and Bockris 1959; Newman,
  // Electrochemical Systems; from memory), b = RT/(alpha F) = 51.4 mV; values worked out apart.
  test.each([
    [0.5, 83],
    [1.5, 139],
    [3, 175],
  ])('at the cathode %f A/dm2 takes %i mV', (density, millivolts) => {
    const found = overpotentialVolts(density, copperExchange, 0.5, 1.5) * 1000;
    expect(Math.abs(found - millivolts)).toBeLessThan(0.6);
  });

  test.each([
    [0.25, 20],
    [0.75, 36],
    [1.5, 47],
  ])('at the anode %f A/dm2 takes %i mV', (density, millivolts) => {
    const found = overpotentialVolts(density, copperExchange, 1.5, 0.5) * 1000;
    expect(Math.abs(found - millivolts)).toBeLessThan(0.6);
  });

  test.each([1e-6, 1e-3, 0.01, 0.1, 1, 10, 1e4])(
    'solves its own equation at %f A/dm2',
    (density) => {
      for (const [forward, reverse] of [
        [0.5, 1.5],
        [1.5, 0.5],
      ] as const) {
        const eta = overpotentialVolts(density, copperExchange, forward, reverse) / 0.025_693;
        const back = copperExchange * (Math.exp(forward * eta) - Math.exp(-reverse * eta));
        expect(back / density).toBeCloseTo(1, 5);
      }
    },
  );
});

/** Radius, m, at a share of the way from a piece of 0.25 dm2 to an anode of 4 dm2. */
const radius = (share: number) =>
  Math.sqrt(0.0025 / Math.PI) * (1 - share) + Math.sqrt(0.04 / Math.PI) * share;

describe('the resistance of the bath', () => {
  // Parallel plates: R = d / (kappa A), exact; a cube of 1 L is 0.1 m wide, so d = 0.05 m.
  test('between plates of equal area is that of a prism', () => {
    const cell = { bath: stillCopper, volumeLitres: 1, anodeAreaDm2: 1 };
    expect(bathOhms(cell, 10_000)).toBeCloseTo(0.05 / (15 * 0.01), 9);
  });

  // A frustum of a cone of radii a and b: R = d / (pi kappa a b), the textbook integral.
  test('between unequal areas is that of a frustum', () => {
    const cell = { bath: stillCopper, volumeLitres: 8, anodeAreaDm2: 4 };
    const slices = 20_000;
    let ohms = 0;
    for (let slice = 0; slice < slices; slice += 1) {
      ohms += 0.1 / slices / (15 * Math.PI * radius((slice + 0.5) / slices) ** 2);
    }
    expect(bathOhms(cell, 2_500) / ohms).toBeCloseTo(1, 6);
  });
});

// Studio cells show 0.2 to 1.0 V: from memory, high confidence.
test('a small studio cell shows between 0.2 and 1 V', () => {
  const cell = { bath: stillCopper, volumeLitres: 2.5, anodeAreaDm2: 2 };
  for (const areaDm2 of [0.05, 0.3, 1]) {
    const volts = cellVolts(cell, 1.5 * areaDm2, areaDm2 * 10_000);
    expect(volts).toBeGreaterThan(0.2);
    expect(volts).toBeLessThan(1);
  }
});
