/** Fields whose value is one of a few, worded alike for all parts. */

import type { PartField, PartShape } from '../model.ts';
import { sizeOf } from './sizes.ts';

/** Whether the flat base of a solid counts: 1, or 0 where it rests on something that hides it. */
export const baseField: PartField = {
  name: 'base',
  label: 'Base',
  unit: 'count',
  min: 0,
  max: 1,
  typical: 1,
  help: 'Choose whether metal reaches the flat base, or whether it is hidden or sealed.',
  choices: [
    { value: 1, label: 'Base counts' },
    { value: 0, label: 'Base hidden' },
  ],
};

/** Whether the base counts. */
export function countsBase(shape: PartShape): boolean {
  return sizeOf(shape, 'base') === 1;
}
