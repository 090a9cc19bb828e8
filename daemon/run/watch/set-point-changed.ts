/** The supply reads back another set-point than it confirmed, twice in a row. */

import { amps, repeated, volts, type WatchRule } from './rule.ts';

/** A set-point may read back this many steps beside the one that was given. */
export const setPointSteps = 1.5;

export const setPointChanged: WatchRule = {
  code: 'setPointChanged',
  judge(memory, view) {
    const { setAmps, setVolts } = view.reading;
    if (setAmps === null && setVolts === null) return { memory, found: null };
    const found: string[] = [];
    if (setAmps !== null && Math.abs(setAmps - view.setAmps) > setPointSteps * view.stepAmps) {
      found.push(
        `The current set-point reads ${amps(setAmps)}; it was set to ${amps(view.setAmps)}.`,
      );
    }
    if (setVolts !== null && Math.abs(setVolts - view.setVolts) > setPointSteps * view.stepVolts) {
      found.push(
        `The voltage set-point reads ${volts(setVolts)}; it was set to ${volts(view.setVolts)}.`,
      );
    }
    return repeated(memory, 2, found.length > 0 ? found.join(' ') : null);
  },
};
