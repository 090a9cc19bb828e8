/** The baths as plans see them: with the efficiencies that were taken over from weigh-ins. */

import { bathWithEfficiency, type Efficiency } from '../chemistry/adopted.ts';
import type { Bath } from '../chemistry/model.ts';
import type { AdoptedEntry } from './door.ts';

/** The efficiency of an entry, with a sentence on where it comes from. */
function efficiencyOf({ entry, by, savedWallMs }: AdoptedEntry): Efficiency {
  const { value, uncertainty, weighIns } = entry;
  const day = new Date(savedWallMs).toISOString().slice(0, 10);
  const from =
    weighIns === 0
      ? "the maker's own figure"
      : `${weighIns} weigh-${weighIns === 1 ? 'in' : 'ins'}`;
  return {
    value,
    uncertainty,
    source: `ledger of this bath: ${from}, taken over by ${by} on ${day}`,
  };
}

/** The bath as it is in that tank. */
export function bathInTank(bath: Bath, tankId: string, adopted: readonly AdoptedEntry[]): Bath {
  const found = adopted.find((one) => one.tankId === tankId && one.bathId === bath.id);
  return bathWithEfficiency(bath, found === undefined ? null : efficiencyOf(found));
}
