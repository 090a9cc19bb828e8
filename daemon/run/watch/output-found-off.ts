/** The supply says its output is off although it was confirmed on, twice in a row. */

import { repeated, type WatchRule } from './rule.ts';

export const outputFoundOff: WatchRule = {
  code: 'outputFoundOff',
  judge(memory, view) {
    const off = view.reading.outputOn === false;
    return repeated(memory, 2, off ? 'The supply says that its output is off.' : null);
  },
};
