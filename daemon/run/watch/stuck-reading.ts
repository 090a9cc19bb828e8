/** The set-point moved, yet the measured values repeat themselves to the last digit. */

import { amps, freshMemory, type WatchRule } from './rule.ts';

const holdMs = 10_000;

/** `mark` keeps the set-point at which the values last changed, `count` a fingerprint of them. */
export const stuckReading: WatchRule = {
  code: 'stuckReading',
  judge(memory, view) {
    const { reading, setAmps, stepAmps } = view;
    const fingerprint = reading.amps * 1e6 + reading.volts;
    if (fingerprint !== memory.count || memory.sinceMs === null) {
      return {
        memory: { ...freshMemory, sinceMs: reading.atMs, mark: setAmps, count: fingerprint },
        found: null,
      };
    }
    const moved = Math.abs(setAmps - memory.mark) > Math.max(0.03 * setAmps, 5 * stepAmps);
    const stuck = moved && reading.atMs - memory.sinceMs >= holdMs;
    if (!stuck) return { memory, found: null };
    return {
      memory,
      found: `The reading has stood at ${amps(reading.amps)} while the set-point went from ${amps(memory.mark)} to ${amps(setAmps)}.`,
    };
  },
};
