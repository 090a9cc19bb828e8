/** Units of current density against the exact inch: 1 in is 25.4 mm (NIST SP 811, cited from memory). */

import { expect, test } from 'vitest';
import { fromAmpsPerDm2, toAmpsPerDm2 } from '../../daemon/chemistry/density-units.ts';

// NIST SP 811: one square foot is 9.290304E-02 m2 and one square inch 6.4516E-04 m2, exactly.
test.each([
  ['mA/cm2', 10],
  ['A/ft2', 9.290_304],
  ['A/in2', 0.064_516],
])('1 A/dm2 in %s is %d', (unit, value) => {
  expect(fromAmpsPerDm2(1, unit)).toBeCloseTo(value, 12);
});

test('1 A/in2 is 15.500031 A/dm2, 144 A/ft2 and 155.0003 mA/cm2', () => {
  const density = toAmpsPerDm2(1, 'A/in2');
  // Half of the last printed digit where the figure is rounded.
  expect(Math.abs(density - 15.500_031)).toBeLessThanOrEqual(0.5e-6);
  expect(fromAmpsPerDm2(density, 'A/ft2')).toBeCloseTo(144, 10);
  expect(Math.abs(fromAmpsPerDm2(density, 'mA/cm2') - 155.0003)).toBeLessThanOrEqual(0.5e-4 * 1.3);
});

test('1 A/ft2 is 0.107639 A/dm2', () => {
  expect(Math.abs(toAmpsPerDm2(1, 'A/ft2') - 0.107_639)).toBeLessThanOrEqual(0.5e-6);
});

test('the craft rule of 0.1 A/in2 is 1.55 A/dm2 (common practice, no source)', () => {
  expect(Math.abs(toAmpsPerDm2(0.1, 'A/in2') - 1.55)).toBeLessThanOrEqual(0.005);
});
