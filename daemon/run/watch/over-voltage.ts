/** Too much voltage: above the limit at once. */

import { volts, well, type WatchRule } from './rule.ts';

export const overVoltage: WatchRule = {
  code: 'overVoltage',
  judge(memory, view) {
    const measured = view.reading.volts;
    if (measured <= view.limits.maxVolts) return well;
    return {
      memory,
      found: `${volts(measured)} is above the limit of ${volts(view.limits.maxVolts)}.`,
    };
  },
};
