/** A bath with the efficiency that a maker took over from weigh-ins in place of the file's. */

import type { Bath } from './model.ts';

/** An efficiency with the half width of its range, as shares, and where it is from. */
export type Efficiency = Bath['efficiency'];

/** The same bath; unchanged where nothing was taken over. */
export function bathWithEfficiency(bath: Bath, efficiency: Efficiency | null): Bath {
  return efficiency === null ? bath : { ...bath, efficiency };
}
