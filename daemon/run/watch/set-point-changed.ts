/** The supply reads back another set-point than it confirmed, twice in a row. */

import { amps, repeated, volts, type WatchRule } from './rule.ts';

/** A set-point may read back this many steps beside the one that was given. */
const setPointSteps = 1.5;

/** Whether a set-point reads unlike the one that was given, on a supply whose steps are so fine. */
export function readsUnlike(read: number | null, given: number, stepSize: number): read is number {
  return read !== null && Math.abs(read - given) > setPointSteps * stepSize;
}

export const setPointChanged: WatchRule = {
  code: 'setPointChanged',
  judge(memory, view) {
    const { setAmps, setVolts } = view.reading;
    if (setAmps === null && setVolts === null) return { memory, found: null };
    const found: string[] = [];
    if (readsUnlike(setAmps, view.setAmps, view.stepAmps)) {
      found.push(
        `The current set-point reads ${amps(setAmps)}; it was set to ${amps(view.setAmps)}.`,
      );
    }
    if (readsUnlike(setVolts, view.setVolts, view.stepVolts)) {
      found.push(
        `The voltage set-point reads ${volts(setVolts)}; it was set to ${volts(view.setVolts)}.`,
      );
    }
    return repeated(memory, 2, found.length > 0 ? found.join(' ') : null);
  },
};
