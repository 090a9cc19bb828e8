/** Asks about lengths that look as if they were entered in another unit. */

import { pieceLengthSlips } from '../../piece/length-slips.ts';
import type { Notice } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { figure, notice } from './words.ts';

/** So many are asked about at once; beyond that the whole piece is in another unit. */
const mostSlips = 3;

/** One question for each suspicious length; what is suspicious beside the rest of a part is judged there. */
export function lengthSlipNotices({ request }: PlanFigures): readonly Notice[] {
  return pieceLengthSlips(request.piece)
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
