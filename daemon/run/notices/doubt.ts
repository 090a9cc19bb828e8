/** Says how sure the thickness is, what most of the doubt comes from, and what would shrink it. */

import type { Notice } from '../model.ts';
import type { PlanFigures } from '../plan-figures.ts';
import { type UncertaintyName, uncertaintyTerms } from '../uncertainty.ts';
import { fitting, micrometres, notice, percent, sufficing } from './words.ts';

interface Cause {
  readonly field: string;
  readonly what: string;
  readonly remedy: string;
}

const causes: Readonly<Record<UncertaintyName, Cause>> = {
  area: {
    field: 'piece.areaUncertainty',
    what: 'the area of the piece',
    remedy: 'Measure its parts again, at several places each; leafy shapes hide the most area.',
  },
  efficiency: {
    field: 'bath.efficiency.uncertainty',
    what: "the bath's efficiency",
    remedy: 'Weigh a piece before and after a run: the gain tells how much charge became metal.',
  },
  meter: {
    field: 'tank.supply.meterUncertainty',
    what: "the supply's ammeter",
    remedy: 'Check it against a second meter and enter what you find in the settings.',
  },
  metalDensity: {
    field: 'metal.densityGramsPerCm3',
    what: 'the density of the deposited metal',
    remedy: 'Nothing to do: every other figure here is surer than that.',
  },
};

/** Always one note: a thickness without its range says more than is known. */
export function doubtNotices({
  request,
  bath,
  tank,
  thicknessMicrometres,
}: PlanFigures): readonly Notice[] {
  const [largest] = uncertaintyTerms({
    areaShare: request.piece.areaUncertainty,
    bath,
    meterShare: tank.supply.meterUncertainty,
  });
  const { field, what, remedy } = causes[largest?.name ?? 'area'];
  const { value, low, high } = thicknessMicrometres;
  const [least, most] = [micrometres(fitting(low)), micrometres(sufficing(high))];
  return notice('note', 'doubt', {
    field,
    value: `${least} to ${most}`,
    bound: `${micrometres(value)} aimed at`,
    message:
      `The mean thickness will lie between ${least} and ${most}. Most of that doubt is ${what} ` +
      `(plus or minus ${percent(largest?.share ?? 0)}).`,
    remedy,
  });
}
