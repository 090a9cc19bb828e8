/** Faraday's law against worked examples and problems of published textbooks. */

import { describe, expect, test } from 'vitest';
import { coulombsPerAmpHour, faradayCoulombsPerMol } from '../../daemon/chemistry/constants.ts';
import {
  chargeAmpHoursFromMass,
  chargeAmpHoursFromVolume,
  massGramsFromCharge,
  type SolidIon,
  volumeMm3FromCharge,
} from '../../daemon/chemistry/faraday.ts';
import { metals } from '../../daemon/chemistry/metals.ts';

// Ions of the textbooks that the bench does not plate. Atomic weights: CIAAW/IUPAC 2021 (chromium)
// and, from memory, 26.98 (aluminium); the density as given in the problem.
const chromiumIII: SolidIon = {
  molarMassGramsPerMol: 51.9961,
  valence: 3,
  densityGramsPerCm3: 7.19,
};
const aluminiumIII = { molarMassGramsPerMol: 26.98, valence: 3 };

/** Largest distance between a result and a printed one, as a share of the printed. */
function share(value: number, printed: number): number {
  return Math.abs(value - printed) / printed;
}

describe('OpenStax, Chemistry 2e, section 17.7', () => {
  test('"Converting Current to Moles of Electrons": 10.23 A for 1 h is 0.3817 mol and 41.19 g of silver', () => {
    const moles = (10.23 * coulombsPerAmpHour) / faradayCoulombsPerMol;
    expect(Math.abs(moles - 0.3817)).toBeLessThanOrEqual(0.000_05);
    // The printed mass fits the rounded 0.3817 mol (0.013 %) times a rounded 107.9 g/mol
    // (0.029 %), rounded again (0.012 %): 0.06 % in all.
    const grams = massGramsFromCharge(metals['silver-I'], 10.23, 1);
    expect(share(grams, 41.19)).toBeLessThan(0.000_6);
  });

  test('its Check Your Learning: 25.0 A for 15.0 min leaves 2.10 g of aluminium', () => {
    const grams = massGramsFromCharge(aluminiumIII, (25 * 15) / 60, 1);
    expect(Math.abs(grams - 2.1)).toBeLessThanOrEqual(0.005);
  });

  test('"Time Required for Deposition": 0.010 mm of chromium on 3.3 m2 at 33.46 A takes 11.0 h', () => {
    const volumeMm3 = 3.3e6 * 0.01;
    const grams = (volumeMm3 / 1000) * chromiumIII.densityGramsPerCm3;
    const ampHours = chargeAmpHoursFromVolume(chromiumIII, volumeMm3, 1);
    const hours = ampHours / 33.46;
    // Printed to three digits each: half of the last digit.
    expect(Math.abs(grams - 237)).toBeLessThanOrEqual(0.5);
    expect(Math.abs(ampHours * coulombsPerAmpHour - 1.32e6)).toBeLessThanOrEqual(0.005e6);
    expect(Math.abs(hours * 3600 - 3.95e4)).toBeLessThanOrEqual(0.005e4);
    expect(Math.abs(hours - 11)).toBeLessThanOrEqual(0.05);
  });

  test('its Check Your Learning: 0.100 mm of zinc on 3.00 m by 5.50 m at 25.5 A', () => {
    const zinc = metals['zinc-II'];
    const volumeMm3 = 3000 * 5500 * 0.1;
    const kilograms = (volumeMm3 / 1e6) * zinc.densityGramsPerCm3;
    expect(Math.abs(kilograms - 11.8)).toBeLessThanOrEqual(0.05);
    // The printed 382 h does not follow from its own figures, which give 378.8 h: it is 0.85 % high,
    // more than three digits explain. The check is that we are that near, and on that side.
    const hours = chargeAmpHoursFromVolume(zinc, volumeMm3, 1) / 25.5;
    expect(share(hours, 382)).toBeLessThan(0.01);
    expect(hours).toBeCloseTo(378.8, 1);
  });
});

test('Masterton & Hurley, Chemistry: Principles and Reactions 8e, chapter 17, problem 81', () => {
  // Silver on 6.25 cm2 at 2.00 A for 2 h 25 min, 82.0 % efficient, 10.5 g/cm3: 15.94 g, 0.243 cm.
  const silver = { ...metals['silver-I'], densityGramsPerCm3: 10.5 };
  const ampHours = 2 * (2 + 25 / 60);
  // The printed mass fits 0.1478 mol, carried to four digits without rounding up (0.07 %);
  // its own last digit adds 0.03 %.
  expect(share(massGramsFromCharge(silver, ampHours, 0.82), 15.94)).toBeLessThan(0.001);
  const centimetres = volumeMm3FromCharge(silver, ampHours, 0.82) / 1000 / 6.25;
  expect(Math.abs(centimetres - 0.243)).toBeLessThanOrEqual(0.0005);
  // The efficiency belongs to the metal, not to the charge needed twice over.
  expect(
    chargeAmpHoursFromMass(silver, massGramsFromCharge(silver, ampHours, 0.82), 0.82),
  ).toBeCloseTo(ampHours, 12);
});

test('Instant Notes in Physical Chemistry, C2: 0.123 A for 1 h leaves 0.1457 g of copper', () => {
  // The printed mass fits 63.5 g/mol; with 63.546 it is 0.07 % more.
  const rounded = { ...metals['copper-II'], molarMassGramsPerMol: 63.5 };
  expect(Math.abs(massGramsFromCharge(rounded, 0.123, 1) - 0.1457)).toBeLessThanOrEqual(0.000_05);
  const own = massGramsFromCharge(metals['copper-II'], 0.123, 1);
  expect(Math.abs(own - 0.1457)).toBeLessThanOrEqual(0.1457 * 0.0008 + 0.000_05);
});

test('Encyclopaedia Britannica 1911, "Electrotyping": 10 A/ft2 grows 0.000563 in of copper an hour', () => {
  const squareFootMm2 = 304.8 ** 2;
  const inchesAnHour = (densityGramsPerCm3: number): number => {
    const copper = { ...metals['copper-II'], densityGramsPerCm3 };
    return volumeMm3FromCharge(copper, 10, 1) / squareFootMm2 / 25.4;
  };
  // The printed figure fits 8.92 g/cm3, at the low end of what is deposited (from memory: 8.92 to
  // 8.94); the 8.96 of solid copper, which the bench uses, is 0.45 % denser and grows that much less.
  const halfLastDigit = 0.000_000_5;
  expect(Math.abs(inchesAnHour(8.92) - 0.000_563)).toBeLessThanOrEqual(halfLastDigit);
  const own = inchesAnHour(metals['copper-II'].densityGramsPerCm3);
  expect(share(own, 0.000_563)).toBeLessThan(0.0045 + halfLastDigit / 0.000_563);
});
