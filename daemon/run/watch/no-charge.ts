/** Hardly any charge in a minute that should have brought some: the run is on in name only. */

import { freshMemory, type WatchRule } from './rule.ts';

const windowMs = 60_000;
const leastShare = 0.2;

export const noCharge: WatchRule = {
  code: 'noCharge',
  judge(memory, view) {
    const atMs = view.reading.atMs;
    if (memory.sinceMs === null) {
      return { memory: { ...freshMemory, sinceMs: atMs, mark: view.ampHours }, found: null };
    }
    const passedMs = atMs - memory.sinceMs;
    if (passedMs < windowMs) return { memory, found: null };
    const gained = view.ampHours - memory.mark;
    // While paint covers, the voltage cap may hold the current far below its set-point.
    const share = view.striking ? leastShare / 10 : leastShare;
    const wanted = view.setAmps * (passedMs / 3_600_000) * share;
    const next = { ...freshMemory, sinceMs: atMs, mark: view.ampHours };
    if (gained >= wanted) return { memory: next, found: null };
    const got = (gained * 1000).toFixed(2);
    const least = (wanted * 1000).toFixed(2);
    return {
      memory: next,
      found: `Only ${got} mAh passed in a minute; at least ${least} mAh was due.`,
    };
  },
};
