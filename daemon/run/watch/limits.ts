/** The two deadlines that end every run: its longest time and its largest charge. */

import { well, type WatchRule } from './rule.ts';

export const tooLong: WatchRule = {
  code: 'tooLong',
  judge(memory, view) {
    if (view.runForMs <= view.limits.maxDurationMs) return well;
    const hours = (view.limits.maxDurationMs / 3_600_000).toFixed(1);
    return { memory, found: `The run has been on for longer than ${hours} h.` };
  },
};

export const tooMuchCharge: WatchRule = {
  code: 'tooMuchCharge',
  judge(memory, view) {
    if (view.highAmpHours <= view.limits.maxChargeAmpHours) return well;
    return {
      memory,
      found: `Up to ${view.highAmpHours.toFixed(3)} A·h may have passed; the limit is ${view.limits.maxChargeAmpHours.toFixed(3)} A·h.`,
    };
  },
};
