/** Growth of one part of a piece: all alike of it, the plated share, less what is covered. */

import { scaleGrowth } from './growth.ts';
import type { Growth, PartDefinition, PartDescription } from './model.ts';
import { partDefinition } from './parts.ts';

/** The definition of a part's kind; throws RangeError for a kind that does not exist. */
export function definitionOf(part: PartDescription, index: number): PartDefinition {
  const definition = partDefinition(part.kind);
  if (definition === undefined) {
    throw new RangeError(`parts[${index}].kind is "${part.kind}"; there is no such part`);
  }
  return definition;
}

/** Growth of the plated surface of a part as if nothing of it were covered. */
export function uncoveredGrowth(part: PartDescription, index: number): Growth {
  return scaleGrowth(definitionOf(part, index).growth(part), part.count * part.platedFraction);
}

/**
 * Growth of one part. Nobody can say how curved the covered surface is, so it is taken to be as
 * curved as the rest: all three terms shrink by the same share, and the part that is left keeps the
 * curvature per area, and with it the area factor at every thickness, of the whole.
 */
export function partGrowth(part: PartDescription, index: number): Growth {
  const growth = uncoveredGrowth(part, index);
  const { coveredMm2 = 0 } = part;
  return coveredMm2 === 0 ? growth : scaleGrowth(growth, 1 - coveredMm2 / growth.areaMm2);
}
