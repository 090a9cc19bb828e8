/** Units of current density and their exact factors to A/dm2. */

import { requireNonNegative } from './checks.ts';

/** One unit of current density. */
export interface DensityUnit {
  readonly id: string;
  readonly label: string;
  /** How many A/dm2 one of this unit is; exact but for the rounding of a float. */
  readonly ampsPerDm2PerUnit: number;
}

// One inch is 25.4 mm exactly, so these areas are exact: 0.254 dm and 3.048 dm squared.
const dm2PerIn2 = 0.064516;
const dm2PerFt2 = 9.290304;

/** The units a maker may enter, the house unit first. */
export const densityUnits: readonly DensityUnit[] = [
  { id: 'A/dm2', label: 'A/dm²', ampsPerDm2PerUnit: 1 },
  { id: 'A/in2', label: 'A/in²', ampsPerDm2PerUnit: 1 / dm2PerIn2 },
  { id: 'A/ft2', label: 'A/ft²', ampsPerDm2PerUnit: 1 / dm2PerFt2 },
  { id: 'mA/cm2', label: 'mA/cm²', ampsPerDm2PerUnit: 0.1 },
];

function unitById(unitId: string): DensityUnit {
  const unit = densityUnits.find((candidate) => candidate.id === unitId);
  if (unit === undefined) {
    const known = densityUnits.map((candidate) => candidate.id).join(', ');
    throw new RangeError(`density unit is "${unitId}"; known units are ${known}`);
  }
  return unit;
}

/** A density in A/dm2 from a value, 0 or more, in one of `densityUnits`; else RangeError. */
export function toAmpsPerDm2(value: number, unitId: string): number {
  return requireNonNegative('density', value) * unitById(unitId).ampsPerDm2PerUnit;
}

/** The value in one of `densityUnits` of a density in A/dm2, 0 or more; else RangeError. */
export function fromAmpsPerDm2(value: number, unitId: string): number {
  return requireNonNegative('density', value) / unitById(unitId).ampsPerDm2PerUnit;
}
