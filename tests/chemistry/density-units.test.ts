/** Units of current density, in and out. */

import * as fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  densityUnits,
  fromAmpsPerDm2,
  toAmpsPerDm2,
} from '../../daemon/chemistry/density-units.ts';

test('a density in any unit comes back as it went', () => {
  const anyUnit = fc.constantFrom(...densityUnits.map((unit) => unit.id));
  fc.assert(
    fc.property(anyUnit, fc.double({ min: 1e-6, max: 1e6, noNaN: true }), (unit, value) => {
      const back = fromAmpsPerDm2(toAmpsPerDm2(value, unit), unit);
      expect(Math.abs(back - value) / value).toBeLessThan(1e-14);
    }),
  );
});

test('the house unit comes first and is one of itself', () => {
  expect(densityUnits[0]).toEqual({ id: 'A/dm2', label: 'A/dm²', ampsPerDm2PerUnit: 1 });
});

test('an unknown unit is refused with the known ones', () => {
  for (const convert of [toAmpsPerDm2, fromAmpsPerDm2]) {
    expect(() => convert(1, 'A/m2')).toThrow(RangeError);
    expect(() => convert(1, 'A/m2')).toThrow(
      'density unit is "A/m2"; known units are A/dm2, A/in2, A/ft2, mA/cm2',
    );
  }
});

test('a density that is negative or no number is refused', () => {
  for (const convert of [toAmpsPerDm2, fromAmpsPerDm2]) {
    for (const bad of [-0.1, Number.NaN, Number.POSITIVE_INFINITY]) {
      expect(() => convert(bad, 'A/in2')).toThrow(
        `density is ${bad}; it must be a finite number, 0 or more`,
      );
    }
  }
});
