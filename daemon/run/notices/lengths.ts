/** Asks about lengths that look as if they were entered in another unit. */

import { pieceLengthSlips } from '../../piece/length-slips.ts';
import type { PartDescription } from '../../piece/model.ts';
import { partDefinition } from '../../piece/parts.ts';
import type { Notice } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { figure, notice } from './words.ts';

/** So many are asked about at once; beyond that the whole piece is in another unit. */
const mostSlips = 3;

/** How many lengths a part has. */
function lengthsOf({ kind, sizes }: PartDescription): number {
  const lengths = partDefinition(kind)?.fields.filter(({ unit }) => unit === 'mm') ?? [];
  return lengths.filter(({ name }) => sizes[name] !== undefined).length;
}

/**
 * One question for each suspicious length of a part most of whose lengths are: a slip of the unit
 * runs through a part, while one odd length is more likely an odd piece.
 */
export function lengthSlipNotices({ request }: PlanFigures): readonly Notice[] {
  const { parts } = request.piece;
  const slips = pieceLengthSlips(request.piece);
  return parts
    .flatMap((part, index) => {
      const own = slips.filter(({ field }) => field.startsWith(`parts[${index}].`));
      return own.length > lengthsOf(part) / 2 ? own : [];
    })
    .slice(0, mostSlips)
    .flatMap(({ field, value, meantMm, message }) =>
      notice('warn', 'lengthSlip', {
        field: `piece.${field}`,
        value: `${figure(value, 6)} mm`,
        bound: `${figure(meantMm, 4)} mm would be usual`,
        message: `A length looks odd: ${message}`,
        remedy: 'Sizes are in mm: correct it, or leave it if it is meant so.',
      }),
    );
}
