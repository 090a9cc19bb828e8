/** Says how sure the thickness is, what most of the doubt comes from, and what would shrink it. */

import { partUncertainties } from '../../piece/area-uncertainty.ts';
import type { PieceDescription } from '../../piece/model.ts';
import { partNameOf } from '../../piece/part-names.ts';
import type { Notice } from '../model.ts';
import type { DoubtSource } from '../plan-findings.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { dominantDoubt } from '../uncertainty.ts';
import { fitting, micrometres, notice, percent, sufficing } from './words.ts';

/** Each source of doubt: the field that holds it, and its name in words. */
const causes: Readonly<Record<DoubtSource, readonly [field: string, what: string]>> = {
  area: ['piece.areaUncertainty', 'the area of the piece'],
  efficiency: ['bath.efficiency.uncertainty', "the bath's efficiency"],
  meter: ['tank.supply.meterUncertainty', "the supply's ammeter"],
  metalDensity: ['metal.densityGramsPerCm3', 'the density of the deposited metal'],
};

/** The part that adds most to the range of the area, where there are several. */
function widestPart(piece: PieceDescription): string {
  const [widest] = partUncertainties(piece);
  if (widest === undefined || piece.parts.length === 1) return '';
  return `, "${partNameOf(piece, widest.partIndex)}" above all`;
}

/** Always one note: a thickness without its range says more than is known. */
export function doubtNotices({
  request,
  sources,
  thicknessMicrometres,
}: PlanFigures): readonly Notice[] {
  const { source, halfWidth, remedy } = dominantDoubt(sources);
  const [field, what] = causes[source];
  const aboveAll = source === 'area' ? widestPart(request.piece) : '';
  const { value, low, high } = thicknessMicrometres;
  const [least, most] = [micrometres(fitting(low)), micrometres(sufficing(high))];
  return notice('note', 'doubt', {
    field,
    value: `${least} to ${most}`,
    bound: `${micrometres(value)} aimed at`,
    message:
      `The mean thickness at the target is likely between ${least} and ${most}. Most of that doubt is ` +
      `${what}${aboveAll} (plus or minus ${percent(halfWidth)}).`,
    remedy,
  });
}
