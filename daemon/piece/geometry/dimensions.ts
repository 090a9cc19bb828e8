/** Builds the sizes a maker looks at before and after, and finds the first that closes. */

import type { Dimension } from '../model.ts';

/** A size that grows with the metal on it, or stays where `growthPerThickness` is 0. */
export function dimension(
  name: string,
  label: string,
  valueMm: number,
  growthPerThickness: Dimension['growthPerThickness'] = 2,
): Dimension {
  return { name, label, valueMm, growthPerThickness, closes: false };
}

/** An opening with metal growing on both of its sides, which shuts at half its width. */
export function opening(name: string, label: string, valueMm: number): Dimension {
  return { name, label, valueMm, growthPerThickness: -2, closes: true };
}

/** The size once the metal is that thick, mm; an opening that has shut stays at 0. */
export function dimensionMmAt(
  { valueMm, growthPerThickness, closes }: Dimension,
  thicknessMm: number,
): number {
  const grown = valueMm + growthPerThickness * thicknessMm;
  return closes ? Math.max(0, grown) : grown;
}

/** Thickness, mm, at which the size has shut; null for one that never does. */
export function closesAtMm({ valueMm, growthPerThickness, closes }: Dimension): number | null {
  return closes && growthPerThickness < 0 ? valueMm / -growthPerThickness : null;
}

/** Thickness, mm, at which the first of them has shut; null where none does. */
export function firstClosingMm(dimensions: readonly Dimension[]): number | null {
  const thicknesses = dimensions.map(closesAtMm).filter((thickness) => thickness !== null);
  return thicknesses.length === 0 ? null : Math.min(...thicknesses);
}
