/** The supply has been switched on anew behind our back. */

import { well, type WatchRule } from './rule.ts';

export const supplyRestarted: WatchRule = {
  code: 'supplyRestarted',
  judge(memory, view) {
    if (!view.reading.restarted) return well;
    return {
      memory,
      found: 'The supply reports that it was switched on again since it was last asked.',
    };
  },
};
