/** The supply reads back another set-point than it confirmed, twice in a row. */

import { amps, repeated, volts, type WatchRule } from './rule.ts';

export const setPointChanged: WatchRule = {
  code: 'setPointChanged',
  judge(memory, view) {
    const { setAmps, setVolts } = view.reading;
    if (setAmps === null && setVolts === null) return { memory, found: null };
    const found: string[] = [];
    if (setAmps !== null && Math.abs(setAmps - view.setAmps) > 1.5 * view.stepAmps) {
      found.push(
        `The current set-point reads ${amps(setAmps)}; it was set to ${amps(view.setAmps)}.`,
      );
    }
    if (setVolts !== null && Math.abs(setVolts - view.setVolts) > 1.5 * view.stepVolts) {
      found.push(
        `The voltage set-point reads ${volts(setVolts)}; it was set to ${volts(view.setVolts)}.`,
      );
    }
    return repeated(memory, 2, found.length > 0 ? found.join(' ') : null);
  },
};
