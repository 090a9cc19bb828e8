/** Faraday's law both ways: inverse, bounds, and the slips that double or halve a result. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { coulombsPerAmpHour, faradayCoulombsPerMol } from '../../daemon/chemistry/constants.ts';
import {
  chargeAmpHoursFromMass,
  chargeAmpHoursFromVolume,
  massGramsFromCharge,
  volumeMm3FromCharge,
} from '../../daemon/chemistry/faraday.ts';
import { metalById, metals } from '../../daemon/chemistry/metals.ts';

const anyMetal = fc.constantFrom(...Object.values(metals));
const anyEfficiency = fc.double({ min: 0.01, max: 1, noNaN: true });
const anyAmount = fc.double({ min: 1e-6, max: 1e6, noNaN: true });
const copper = metals['copper-II'];

function relativeGap(first: number, second: number): number {
  return Math.abs(first - second) / Math.abs(second);
}

test('the Faraday constant is the product of the exact charge of the electron and of the mole', () => {
  // SI brochure, 9th edition (2019): e and N_A are exact.
  expect(faradayCoulombsPerMol).toBe(1.602176634e-19 * 6.02214076e23);
  expect(faradayCoulombsPerMol.toFixed(5)).toBe('96485.33212');
  expect(coulombsPerAmpHour).toBe(3600);
});

test('charge to mass and back is the same charge', () => {
  fc.assert(
    fc.property(anyMetal, anyAmount, anyEfficiency, (metal, ampHours, efficiency) => {
      const grams = massGramsFromCharge(metal, ampHours, efficiency);
      expect(relativeGap(chargeAmpHoursFromMass(metal, grams, efficiency), ampHours)).toBeLessThan(
        1e-12,
      );
    }),
  );
});

test('charge to volume and back is the same charge', () => {
  fc.assert(
    fc.property(anyMetal, anyAmount, anyEfficiency, (metal, ampHours, efficiency) => {
      const volume = volumeMm3FromCharge(metal, ampHours, efficiency);
      expect(
        relativeGap(chargeAmpHoursFromVolume(metal, volume, efficiency), ampHours),
      ).toBeLessThan(1e-12);
    }),
  );
});

test('volume times density is mass', () => {
  fc.assert(
    fc.property(anyMetal, anyAmount, anyEfficiency, (metal, ampHours, efficiency) => {
      const volumeCm3 = volumeMm3FromCharge(metal, ampHours, efficiency) / 1000;
      const grams = massGramsFromCharge(metal, ampHours, efficiency);
      expect(relativeGap(volumeCm3 * metal.densityGramsPerCm3, grams)).toBeLessThan(1e-12);
    }),
  );
});

test('one electron per ion leaves twice the copper of two', () => {
  const one = massGramsFromCharge(metals['copper-I'], 3.6, 1);
  expect(one / massGramsFromCharge(copper, 3.6, 1)).toBeCloseTo(2, 12);
});

test('efficiency lowers the mass, and raises the charge for a mass', () => {
  expect(massGramsFromCharge(copper, 10, 0.5)).toBeCloseTo(massGramsFromCharge(copper, 5, 1), 12);
  expect(chargeAmpHoursFromMass(copper, 10, 0.5)).toBeCloseTo(
    2 * chargeAmpHoursFromMass(copper, 10, 1),
    12,
  );
});

test('no charge leaves no metal and no metal needs no charge', () => {
  expect(massGramsFromCharge(copper, 0, 0.98)).toBe(0);
  expect(volumeMm3FromCharge(copper, 0, 0.98)).toBe(0);
  expect(chargeAmpHoursFromMass(copper, 0, 0.98)).toBe(0);
  expect(chargeAmpHoursFromVolume(copper, 0, 0.98)).toBe(0);
});

describe('impossible numbers are refused with the field, the value and the bound', () => {
  const amounts = [
    { law: massGramsFromCharge, field: 'ampHours' },
    { law: volumeMm3FromCharge, field: 'ampHours' },
    { law: chargeAmpHoursFromMass, field: 'grams' },
    { law: chargeAmpHoursFromVolume, field: 'volumeMm3' },
  ];

  test.each(amounts)('$law.name refuses a bad $field', ({ law, field }) => {
    for (const bad of [-1, Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]) {
      expect(() => law(copper, bad, 1)).toThrow(RangeError);
      expect(() => law(copper, bad, 1)).toThrow(
        `${field} is ${bad}; it must be a finite number, 0 or more`,
      );
    }
  });

  test.each(amounts)('$law.name refuses an efficiency outside 0 to 1', ({ law }) => {
    for (const bad of [0, -0.1, 1.0001, 98, Number.NaN]) {
      expect(() => law(copper, 1, bad)).toThrow(RangeError);
      expect(() => law(copper, 1, bad)).toThrow(
        `efficiency is ${bad}; it must be above 0 and at most 1`,
      );
    }
  });

  test('a metal without mass, charge or density is refused', () => {
    expect(() => massGramsFromCharge({ ...copper, molarMassGramsPerMol: 0 }, 1, 1)).toThrow(
      'molarMassGramsPerMol is 0; it must be a finite number above 0',
    );
    expect(() => massGramsFromCharge({ ...copper, valence: 0 }, 1, 1)).toThrow('valence is 0');
    expect(() => volumeMm3FromCharge({ ...copper, densityGramsPerCm3: Number.NaN }, 1, 1)).toThrow(
      'densityGramsPerCm3 is NaN',
    );
  });
});

describe('metals', () => {
  test('every metal is filed under its own id and says where its figures come from', () => {
    for (const [id, metal] of Object.entries(metals)) {
      expect(metal.id).toBe(id);
      expect(metal.molarMassSource).toMatch(/CIAAW|from memory/);
      expect(metal.densitySource).toMatch(/handbook|from memory/);
    }
  });

  test('the atomic weight of gold is said to be from memory', () => {
    expect(metals['gold-I'].molarMassSource).toContain('from memory');
    expect(metals['gold-III'].molarMassSource).toContain('from memory');
  });

  test('a metal is found by its id and an unknown one is named with the known ones', () => {
    expect(metalById('silver-I')).toBe(metals['silver-I']);
    expect(() => metalById('copper')).toThrow(RangeError);
    expect(() => metalById('copper')).toThrow(/metal is "copper"; known metals are copper-II,/);
    expect(() => metalById('toString')).toThrow(RangeError);
  });
});
