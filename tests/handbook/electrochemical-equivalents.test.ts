/**
 * Faraday's law against the handbook table of electrochemical equivalents (of the kind printed in
 * the Metal Finishing Guidebook; read as a reprint), and where that table disagrees with itself.
 */

import { describe, expect, test } from 'vitest';
import { chargeAmpHoursFromVolume, massGramsFromCharge } from '../../daemon/chemistry/faraday.ts';
import { metals } from '../../daemon/chemistry/metals.ts';
import type { Metal, MetalId } from '../../daemon/chemistry/model.ts';

interface Row {
  readonly id: MetalId;
  readonly ampHoursPerFt2PerMil: number;
  readonly gramsPerAmpHour: number;
}

// As printed: A·h per square foot for 0.001 in, and g per A·h, both at 100 % efficiency.
const rows: readonly Row[] = [
  { id: 'copper-I', ampHoursPerFt2PerMil: 8.89, gramsPerAmpHour: 2.37 },
  { id: 'copper-II', ampHoursPerFt2PerMil: 17.8, gramsPerAmpHour: 1.186 },
  { id: 'nickel-II', ampHoursPerFt2PerMil: 19.0, gramsPerAmpHour: 1.095 },
  { id: 'silver-I', ampHoursPerFt2PerMil: 6.2, gramsPerAmpHour: 4.024 },
  { id: 'gold-I', ampHoursPerFt2PerMil: 6.2, gramsPerAmpHour: 7.348 },
  { id: 'gold-III', ampHoursPerFt2PerMil: 18.6, gramsPerAmpHour: 2.449 },
  { id: 'zinc-II', ampHoursPerFt2PerMil: 14.3, gramsPerAmpHour: 1.219 },
  { id: 'tin-II', ampHoursPerFt2PerMil: 7.8, gramsPerAmpHour: 2.214 },
  { id: 'tin-IV', ampHoursPerFt2PerMil: 15.6, gramsPerAmpHour: 1.106 },
];

const milMm = 0.0254;
const squareFootMm2 = 304.8 ** 2;
const squareFootMilCm3 = (squareFootMm2 * milMm) / 1000;

/** A·h that lay 0.001 in on a square foot, by Faraday's law. */
function ampHoursPerFt2PerMil(metal: Metal): number {
  return chargeAmpHoursFromVolume(metal, squareFootMm2 * milMm, 1);
}

/** The same for copper(I) of another density, g/cm3. */
function copperIAt(densityGramsPerCm3: number): number {
  return ampHoursPerFt2PerMil({ ...metals['copper-I'], densityGramsPerCm3 });
}

function rowOf(id: MetalId): Row {
  const row = rows.find((candidate) => candidate.id === id);
  if (row === undefined) {
    throw new Error(`no row for ${id}`);
  }
  return row;
}

describe('grams per A·h', () => {
  // Some rows were rounded and some cut off, so one unit of the last digit; and the table fits
  // a Faraday constant of 96,500 C/mol, 0.015 % above ours.
  const lastDigit = 0.001;
  const olderFaraday = 96_500 / 96_485.332 - 1;
  const sound = rows.filter(({ id }) => id !== 'tin-IV');

  test.each(sound)('$id is $gramsPerAmpHour, within the last digit', ({ id, gramsPerAmpHour }) => {
    const own = massGramsFromCharge(metals[id], 1, 1);
    expect(Math.abs(own - gramsPerAmpHour)).toBeLessThanOrEqual(
      lastDigit + gramsPerAmpHour * olderFaraday,
    );
  });

  test('tin(IV) disagrees with its own tin(II), of which it has to be half', () => {
    const half = rowOf('tin-II').gramsPerAmpHour / 2;
    expect(half).toBeCloseTo(1.107, 10);
    expect(rowOf('tin-IV').gramsPerAmpHour).toBe(1.106);
    expect(Math.abs(massGramsFromCharge(metals['tin-IV'], 1, 1) - half)).toBeLessThanOrEqual(
      lastDigit / 2,
    );
  });
});

describe('A·h per square foot for 0.001 in', () => {
  const halfTenth = 0.05;

  test.each(['copper-II', 'silver-I', 'gold-I', 'gold-III', 'tin-II'] as const)(
    '%s is as printed, within half of the last digit',
    (id) => {
      const printed = rowOf(id).ampHoursPerFt2PerMil;
      expect(Math.abs(ampHoursPerFt2PerMil(metals[id]) - printed)).toBeLessThanOrEqual(halfTenth);
    },
  );

  test('copper(I) fits the 8.92 to 8.94 g/cm3 of deposited copper (from memory), not its own 8.96', () => {
    const printed = rowOf('copper-I').ampHoursPerFt2PerMil;
    expect(copperIAt(8.92)).toBeLessThan(printed + 0.005);
    expect(copperIAt(8.94)).toBeGreaterThan(printed - 0.005);
    expect(copperIAt(8.96) - printed).toBeGreaterThan(0.005);
    // Against the density we use, 8.96, that is 0.3 %.
    expect(Math.abs(copperIAt(8.96) - printed) / printed).toBeLessThan(0.0035);
  });

  test('tin(IV) is printed as twice the rounded tin(II), so twice its rounding', () => {
    const printed = rowOf('tin-IV').ampHoursPerFt2PerMil;
    expect(printed).toBe(2 * rowOf('tin-II').ampHoursPerFt2PerMil);
    expect(Math.abs(ampHoursPerFt2PerMil(metals['tin-IV']) - printed)).toBeLessThanOrEqual(
      2 * halfTenth,
    );
  });

  test('zinc disagrees with its own weight and its own g per A·h, by 3.5 %; we agree with those', () => {
    const { ampHoursPerFt2PerMil: printed, gramsPerAmpHour } = rowOf('zinc-II');
    // The same row prints a weight of 0.59 oz (avoirdupois, 28.349523125 g) per square foot.
    const gramsPerOunce = 28.349_523_125;
    const low = ((0.59 - 0.005) * gramsPerOunce) / (gramsPerAmpHour + 0.001);
    const high = ((0.59 + 0.005) * gramsPerOunce) / (gramsPerAmpHour - 0.001);
    expect(printed).toBeGreaterThan(high);
    const own = ampHoursPerFt2PerMil(metals['zinc-II']);
    expect(own).toBeGreaterThan(low);
    expect(own).toBeLessThan(high);
    expect(printed / own - 1).toBeCloseTo(0.035, 3);
  });

  test('nickel disagrees with its own density and g per A·h, by 1 %; we agree with those', () => {
    const { ampHoursPerFt2PerMil: printed, gramsPerAmpHour } = rowOf('nickel-II');
    // The same row prints a density of 8.90 g/cm3.
    const implied = (squareFootMilCm3 * 8.9) / gramsPerAmpHour;
    expect(implied - printed).toBeGreaterThan(halfTenth);
    const own = ampHoursPerFt2PerMil(metals['nickel-II']);
    // Ours is 8.908: 0.09 % denser; the g per A·h are rounded by up to 0.05 %.
    expect(Math.abs(own / implied - 1)).toBeLessThan(0.0015);
    expect(1 - printed / own).toBeCloseTo(0.01, 3);
  });
});

test('the atomic weights agree with a general reference library', () => {
  // The table of elements in the chemicals library for Python (MIT licence), release 1.5.2. Its
  // gold is an older value and its tin differs in the sixth digit: 0.01 % covers both.
  const library: readonly (readonly [MetalId, number])[] = [
    ['copper-II', 63.546],
    ['nickel-II', 58.6934],
    ['silver-I', 107.8682],
    ['gold-I', 196.96655],
    ['zinc-II', 65.38],
    ['tin-II', 118.701],
  ];
  for (const [id, gramsPerMol] of library) {
    const own = metals[id].molarMassGramsPerMol;
    expect(Math.abs(own - gramsPerMol) / gramsPerMol).toBeLessThan(1e-4);
  }
});
