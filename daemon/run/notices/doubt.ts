/** Says how sure the thickness is, what most of the doubt comes from, and what would shrink it. */

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

/** Always one note: a thickness without its range says more than is known. */
export function doubtNotices({ sources, thicknessMicrometres }: PlanFigures): readonly Notice[] {
  const { source, halfWidth, remedy } = dominantDoubt(sources);
  const [field, what] = causes[source];
  const { value, low, high } = thicknessMicrometres;
  const [least, most] = [micrometres(fitting(low)), micrometres(sufficing(high))];
  return notice('note', 'doubt', {
    field,
    value: `${least} to ${most}`,
    bound: `${micrometres(value)} aimed at`,
    message:
      `The mean thickness will lie between ${least} and ${most}. Most of that doubt is ${what} ` +
      `(plus or minus ${percent(halfWidth)}).`,
    remedy,
  });
}
