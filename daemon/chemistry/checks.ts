/** Guards that refuse an impossible number by naming the field, the value and the bound. */

/** Passes a finite number that is zero or more; throws RangeError otherwise. */
export function requireNonNegative(field: string, value: number): number {
  if (!Number.isFinite(value) || value < 0) {
    throw new RangeError(`${field} is ${value}; it must be a finite number, 0 or more`);
  }
  return value;
}

/** Passes a finite number above zero; throws RangeError otherwise. */
export function requirePositive(field: string, value: number): number {
  if (!Number.isFinite(value) || value <= 0) {
    throw new RangeError(`${field} is ${value}; it must be a finite number above 0`);
  }
  return value;
}

/** Passes a share above 0 and up to 1; throws RangeError otherwise. */
export function requireShare(field: string, value: number): number {
  if (!Number.isFinite(value) || value <= 0 || value > 1) {
    throw new RangeError(`${field} is ${value}; it must be above 0 and at most 1`);
  }
  return value;
}
