/**
 * The planner against figures from outside: published ratios and correlations, and worked forms. Each
 * check names its source; what is only habit or memory says so.
 */

import { describe, expect, test } from 'vitest';
import { toAmpsPerDm2 } from '../../daemon/chemistry/density-units.ts';
import { metals } from '../../daemon/chemistry/metals.ts';
import { millimetresPerAmpHourPerDm2 } from '../../daemon/run/charge-density.ts';
import { reachMm } from '../../daemon/run/contact.ts';
import { averageToLeast, recessReachMm, wagnerNumber } from '../../daemon/run/evenness.ts';
import { ampsAtRise } from '../../daemon/run/hanger-wire.ts';

// A/in2 to A/dm2 by the inch of 25.4 mm, and copper's growth by Faraday's law with CODATA's F, the
// CIAAW's 63.546 and 8.96 g/cm3; worked by hand to three digits.
test.each([
  [0.01, 0.155, 2.05],
  [0.05, 0.775, 10.3],
  [0.1, 1.55, 20.5],
  [0.15, 2.33, 30.8],
  [0.25, 3.88, 51.3],
  [0.5, 7.75, 103],
  [1, 15.5, 205],
])('%f A/in2 is %f A/dm2 and grows %f µm of copper in an hour', (perIn2, perDm2, micrometres) => {
  const density = toAmpsPerDm2(perIn2, 'A/in2');
  expect(Number(density.toPrecision(3))).toBeCloseTo(perDm2, 6);
  const grown = 1000 * density * millimetresPerAmpHourPerDm2(metals['copper-II'], 1);
  expect(Number(grown.toPrecision(3))).toBe(micrometres);
});

// ASTM B507, Design of Articles to Be Electroplated on Racks, average to least thickness of nickel,
// as quoted in a reproduction of the standard; the original was not read.
test('ratios of average to least thickness stand as they are published', () => {
  expect(averageToLeast('sharp')).toBe(3.3);
  expect(averageToLeast('square')).toBe(2.7);
  expect(averageToLeast('blunt')).toBe(1.9);
  expect(averageToLeast('cornered')).toBe(9.2);
  expect(averageToLeast('rounded')).toBe(5.6);
  expect(averageToLeast('deep')).toBe(6.6);
  expect(averageToLeast('convex')).toBe(2);
  expect(averageToLeast('unknown')).toBeNull();
});

describe('lengths along which a current dies away', () => {
  // sqrt(b / (R i)) with b = 51.4 mV, at 150 A/m2, worked by hand; sheet resistances from memory.
  test.each([
    [0.1, 59],
    [1, 18.5],
    [20, 4.1],
    [100, 1.9],
    [500, 0.8],
  ])('%f ohm per square: %f mm of paint', (ohms, mm) => {
    expect(Math.abs(reachMm(ohms, 1.5) - mm)).toBeLessThan(mm < 10 ? 0.06 : 0.6);
  });

  // The equation of a fin, sqrt(kappa d b / (4 i)): 15 S/m, 5 mm and 150 A/m2 make 2.5 mm.
  test('a hole of 5 mm at 1.5 A/dm2', () => {
    expect(recessReachMm(15, 5, 1.5)).toBeCloseTo(2.5, 1);
  });

  // Wa = kappa b / (i L), the definition of the Wagner number (Newman, Electrochemical Systems, from
  // memory); worked by hand.
  test.each([
    [15, 1.5, 10, 0.51],
    [15, 1.5, 30, 0.17],
    [15, 0.5, 10, 1.54],
    [15, 0.5, 30, 0.51],
    [55, 1.5, 10, 1.9],
    [55, 1.5, 30, 0.63],
  ])('%f S/m, %f A/dm2, %f mm: %f', (kappa, density, length, expected) => {
    expect(Math.abs(wagnerNumber(kappa, density, length) / expected - 1)).toBeLessThan(0.02);
  });
});

describe('bare copper wire in still air', () => {
  const wires = [0.255, 0.511, 0.812, 1.024, 1.628, 2.588];

  // W. H. Preece's rule for the current that melts copper wire in air, 80 A times the diameter in mm
  // to the power of 1.5 (1884; from memory, high confidence). A rating lies far below melting.
  test('is rated at a twelfth to a quarter of what melts it', () => {
    for (const diameter of wires) {
      const share = ampsAtRise(diameter, 30) / (80 * diameter ** 1.5);
      expect(share).toBeGreaterThan(0.08);
      expect(share).toBeLessThan(0.25);
    }
  });

  // Single wires in free air, as radio handbooks give them for chassis wiring: 16 A for 18 AWG, 11 A
  // for 20, 7 A for 22 (from memory, medium confidence; their rise is higher than 30 K).
  test.each([
    [1.024, 16],
    [0.812, 11],
    [0.644, 7],
  ])('%f mm stays below the %f A of chassis wiring and above half of it', (diameter, amps) => {
    expect(ampsAtRise(diameter, 30)).toBeLessThan(amps);
    expect(ampsAtRise(diameter, 30)).toBeGreaterThan(amps / 2);
  });

  // The heat of I^2 R against the heat that a film coefficient carries off, both written out here. For
  // wires near 1 mm in still air the coefficient is 20 to 40 W/(m2 K): textbook range, from memory.
  test('gives off heat at a coefficient that textbooks give for thin wires', () => {
    for (const diameter of [0.8, 1, 1.3]) {
      const amps = ampsAtRise(diameter, 30);
      const ohms = (1.7241e-8 * (1 + 0.00393 * 30)) / ((Math.PI / 4) * (diameter / 1000) ** 2);
      const coefficient = (amps ** 2 * ohms) / (Math.PI * (diameter / 1000) * 30);
      expect(coefficient).toBeGreaterThan(20);
      expect(coefficient).toBeLessThan(40);
    }
  });
});
