/** Says what may keep a size from coming out as asked: the shade in a bore, and the trickle. */

import { usualBoreShare } from '../../piece/blanks.ts';
import { isBore } from '../../piece/final-sizes.ts';
import type { Dimension } from '../../piece/model.ts';
import type { Notice } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { figure, micrometres, notice, silent } from './words.ts';

function sizeAt({ valueMm, growthPerThickness }: Dimension, thicknessMm: number): number {
  return Math.max(0, valueMm + growthPerThickness * thicknessMm);
}

const mm = (value: number): string => `${figure(value, 4)} mm`;

/** A plan grows metal alike everywhere; the inside of a ring usually gets a little less. */
function shade(
  { thicknessMm }: PlanFigures,
  dimension: Dimension,
  field: string,
): readonly Notice[] {
  if (!isBore(dimension)) return silent;
  const { low, value } = usualBoreShare;
  const asked = micrometres(thicknessMm * 1000);
  const shaded = micrometres((thicknessMm / value) * 1000);
  return notice('note', 'boreInShade', {
    field,
    value: asked,
    bound: `${shaded} where the bore gets ${value} of the mean`,
    message:
      `${asked} bring ${dimension.label} to ${mm(sizeAt(dimension, thicknessMm))} if the inside ` +
      `gets as much as the rest. It usually gets ${low} to 1 of that and may end at up to ` +
      `${mm(sizeAt(dimension, low * thicknessMm))}.`,
    remedy:
      `For the usual share of ${value} aim for ${shaded} in place of the size, or end a little ` +
      'early and measure. A ring of yours, measured before and after, tells your share.',
  });
}

/** The trickle goes on growing after the size was reached. */
function trickled(
  { thicknessMm, trickle }: PlanFigures,
  dimension: Dimension,
  field: string,
): readonly Notice[] {
  if (trickle === null) return silent;
  const atTarget = mm(sizeAt(dimension, thicknessMm));
  const atEnd = mm(sizeAt(dimension, thicknessMm + trickle.addedMm));
  if (atTarget === atEnd) return silent;
  return notice('note', 'trickleChangesSize', {
    field,
    value: atEnd,
    bound: atTarget,
    message: `${dimension.label} is ${atTarget} at the target; the trickle may take it to ${atEnd}.`,
    remedy: 'Leave the trickle out, or aim so much short of the size.',
  });
}

/** Notes on a size that a run is to end at. */
export function finalSizeNotices(figures: PlanFigures): readonly Notice[] {
  const { finalSize, request } = figures.resolved;
  if (finalSize === null) return silent;
  const field = request.target.kind === 'done-by' ? 'target.goal.mm' : 'target.mm';
  const { dimension } = finalSize;
  return [...shade(figures, dimension, field), ...trickled(figures, dimension, field)];
}
