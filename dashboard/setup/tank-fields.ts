/** The fields of a tank, for those in the settings and for a new one. */

import type { Bath } from '../../daemon/chemistry/model.ts';
import type { Field } from './form.ts';
import { inPercent } from './percent.ts';
import { areaLabel, perAreaUnit } from '../units.ts';
import { setupWords } from '#words/setup';

const say = setupWords.fields;

/** What a maker says of a tank, apart from its supply. */
export function tankFields(baths: readonly Bath[]): readonly Field[] {
  return [
    { path: ['name'], label: say.name },
    {
      path: ['bath'],
      label: say.bath,
      choices: baths.map(({ id, name }) => [id, name] as const),
    },
    { path: ['volumeLitres'], label: say.volumeLitres, kind: 'number', unit: 'L' },
    {
      path: ['anodeAreaDm2'],
      label: say.anodeAreaDm2,
      kind: 'number',
      unit: areaLabel(),
      perUnit: perAreaUnit(),
      help: say.anodeHelp,
    },
    { path: ['maxHours'], label: say.maxHours, kind: 'number', unit: 'h' },
  ];
}

export const idField: Field = { path: ['id'], label: say.id, help: say.idHelp };

export const limitFields: readonly Field[] = [
  { path: ['maxAmps'], label: say.maxAmps, kind: 'number', unit: 'A' },
  { path: ['maxVolts'], label: say.maxVolts, kind: 'number', unit: 'V' },
];

export const finerFields: readonly Field[] = [
  { path: ['pollHz'], label: say.pollHz, kind: 'number', help: say.pollUsual },
  {
    path: ['rectifier', 'meterUncertainty'],
    label: say.meterUncertainty,
    ...inPercent,
    help: say.meterHelp,
  },
];

/** Only for a supply in this program. */
export const hurryField: Field = {
  path: ['timeScale'],
  label: say.timeScale,
  kind: 'number',
  help: say.timeHelp,
};
