/** The current stays below its set-point although nothing covers any more. */

import { amps, settlingMs, standing, volts, type WatchRule } from './rule.ts';

const holdMs = 20_000;

export const notFollowing: WatchRule = {
  code: 'notFollowing',
  judge(memory, view) {
    const { reading, leastSetAmps: setAmps } = view;
    const bound = setAmps * 0.92 - 3 * view.stepAmps;
    const below = !view.striking && view.onForMs >= settlingMs && reading.amps < bound;
    return standing(
      memory,
      view,
      holdMs,
      below
        ? `${amps(reading.amps)} flows where ${amps(setAmps)} was asked for, at ${volts(reading.volts)}.`
        : null,
    );
  },
};
