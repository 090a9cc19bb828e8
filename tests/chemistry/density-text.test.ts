/** Typed densities: every unit, the spellings of a workshop, and what cannot be read. */

import * as fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { readDensityText, typedUnits } from '../../daemon/chemistry/density-text.ts';

function ampsPerDm2(text: string): number {
  const reading = readDensityText(text);
  if (!reading.ok) throw new Error(`${text}: ${reading.bound}`);
  return reading.density.ampsPerDm2;
}

describe('a typed density', () => {
  // One inch is 25.4 mm exactly: 0.1 A on 6.4516 cm2 and 15 A on 929.0304 cm2, worked by hand.
  test.each([
    ['1.5', 1.5],
    ['1.5 A/dm2', 1.5],
    ['0.1 A/in2', 1.550_003_1],
    ['.1A/in²', 1.550_003_1],
    ['0.1 amps per sq. inch', 1.550_003_1],
    ['0.1 A/in^2', 1.550_003_1],
    ['0.1 A/sq in', 1.550_003_1],
    ['15 A/ft2', 1.614_586_6],
    ['15 ASF', 1.614_586_6],
    ['15 A/sq ft', 1.614_586_6],
    ['1.5 ASD', 1.5],
    ['15 mA/cm2', 1.5],
    ['15 mA per cm²', 1.5],
    ['150 A/m2', 1.5],
    ['0.015 A/cm2', 1.5],
    ['1,5 A/dm2', 1.5],
    ['0,155', 0.155],
  ])('%s is %f A/dm2', (text, expected) => {
    expect(ampsPerDm2(text) / expected).toBeCloseTo(1, 7);
  });

  test('keeps the text as it was typed', () => {
    const reading = readDensityText('  1.0 A/in2 ');
    expect(reading).toMatchObject({ ok: true, density: { text: '1.0 A/in2', unitId: 'A/in2' } });
  });

  test('comes back in every unit', () => {
    const units = Object.entries(typedUnits);
    fc.assert(
      fc.property(fc.constantFrom(...units), fc.integer({ min: 1, max: 99_999 }), (unit, n) => {
        const value = n / 1000;
        expect(ampsPerDm2(`${value} ${unit[0]}`) / (value * unit[1])).toBeCloseTo(1, 12);
      }),
    );
  });

  test.each(['', 'fast', '-1', '0', '0.0 A/in2', 'NaN', '1.2.3', '--', 'A/in2'])(
    '%j is no density',
    (text) => {
      const reading = readDensityText(text);
      expect(reading.ok ? '' : reading.bound).toContain('a number above 0');
    },
  );

  test('a comma that can be read in two ways is asked about', () => {
    const reading = readDensityText('1,500 A/dm2');
    expect(reading.ok ? '' : reading.advice).toBe('Write 1.500 or 1500.');
  });

  test('an unknown unit is told the known ones', () => {
    expect(readDensityText('1e3').ok).toBe(false);
    const reading = readDensityText('1 V/m');
    expect(reading.ok ? '' : reading.bound).toBe(
      'in one of A/dm2, A/in2, A/ft2, mA/cm2, A/m2, A/cm2',
    );
    expect(reading.ok ? '' : reading.advice).toContain('"V/m"');
  });
});
