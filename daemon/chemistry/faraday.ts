/** Faraday's law of electrolysis, from charge to metal and back. */

import { requireNonNegative, requirePositive, requireShare } from './checks.ts';
import { coulombsPerAmpHour, faradayCoulombsPerMol } from './constants.ts';
import type { Metal } from './model.ts';

/** What Faraday's law needs to know of an ion: molar mass in g/mol and electrons per ion. */
export type Ion = Pick<Metal, 'molarMassGramsPerMol' | 'valence'>;

/** An ion and the density of its metal, g/cm3. */
export type SolidIon = Ion & Pick<Metal, 'densityGramsPerCm3'>;

const mm3PerCm3 = 1000;

function gramsPerAmpHour(metal: Ion): number {
  const molarMass = requirePositive('molarMassGramsPerMol', metal.molarMassGramsPerMol);
  const valence = requirePositive('valence', metal.valence);
  return (molarMass * coulombsPerAmpHour) / (valence * faradayCoulombsPerMol);
}

/**
 * Mass of metal, g, that a charge in A·h leaves at an efficiency above 0 and up to 1: the share of
 * the charge that becomes metal. Throws RangeError on a negative or non-finite charge.
 */
export function massGramsFromCharge(metal: Ion, ampHours: number, efficiency: number): number {
  requireNonNegative('ampHours', ampHours);
  requireShare('efficiency', efficiency);
  return ampHours * efficiency * gramsPerAmpHour(metal);
}

/**
 * Charge, A·h, that leaves a mass of metal in g at an efficiency above 0 and up to 1. Throws
 * RangeError on a negative or non-finite mass.
 */
export function chargeAmpHoursFromMass(metal: Ion, grams: number, efficiency: number): number {
  requireNonNegative('grams', grams);
  requireShare('efficiency', efficiency);
  return grams / (efficiency * gramsPerAmpHour(metal));
}

/** Volume of metal, mm3, that a charge in A·h leaves; bounds as in `massGramsFromCharge`. */
export function volumeMm3FromCharge(metal: SolidIon, ampHours: number, efficiency: number): number {
  const density = requirePositive('densityGramsPerCm3', metal.densityGramsPerCm3);
  return (massGramsFromCharge(metal, ampHours, efficiency) / density) * mm3PerCm3;
}

/** Charge, A·h, that leaves a volume of metal in mm3; bounds as in `chargeAmpHoursFromMass`. */
export function chargeAmpHoursFromVolume(
  metal: SolidIon,
  volumeMm3: number,
  efficiency: number,
): number {
  requireNonNegative('volumeMm3', volumeMm3);
  const density = requirePositive('densityGramsPerCm3', metal.densityGramsPerCm3);
  return chargeAmpHoursFromMass(metal, (volumeMm3 / mm3PerCm3) * density, efficiency);
}
