/** Too much current: above the limit at once, or above the set-point for a second. */

import { amps, settlingMs, standing, type WatchRule } from './rule.ts';

const holdMs = 1_000;

export const overCurrent: WatchRule = {
  code: 'overCurrent',
  judge(memory, view) {
    const measured = view.reading.amps;
    if (measured > view.limits.maxAmps) {
      return {
        memory,
        found: `${amps(measured)} is above the limit of ${amps(view.limits.maxAmps)}.`,
      };
    }
    const bound = view.mostSetAmps * 1.1 + 5 * view.stepAmps + 0.01;
    const above = view.onForMs >= settlingMs && measured > bound;
    return standing(
      memory,
      view,
      holdMs,
      above ? `${amps(measured)} flows at a set-point of ${amps(view.mostSetAmps)}.` : null,
    );
  },
};
