/** Hardly any charge in a minute that should have brought some: the run is on in name only. */

import { freshMemory, type RuleMemory, type WatchRule, type WatchView } from './rule.ts';

const windowMs = 60_000;
const leastShare = 0.2;

/** A new minute: its start, the charge it starts from, and the lowest set-point within it. */
function opened(view: WatchView): RuleMemory {
  return {
    ...freshMemory,
    sinceMs: view.reading.atMs,
    mark: view.ampHours,
    level: view.leastSetAmps,
  };
}

export const noCharge: WatchRule = {
  code: 'noCharge',
  judge(memory, view) {
    const atMs = view.reading.atMs;
    if (memory.sinceMs === null) {
      return { memory: opened(view), found: null };
    }
    const passedMs = atMs - memory.sinceMs;
    const lowestSetAmps = Math.min(memory.level, view.leastSetAmps);
    if (passedMs < windowMs) return { memory: { ...memory, level: lowestSetAmps }, found: null };
    const gained = view.ampHours - memory.mark;
    // While paint covers, the voltage cap may hold the current far below its set-point.
    const share = view.striking ? leastShare / 10 : leastShare;
    const wanted = lowestSetAmps * (passedMs / 3_600_000) * share;
    const next = opened(view);
    if (gained >= wanted) return { memory: next, found: null };
    const got = (gained * 1000).toFixed(2);
    const least = (wanted * 1000).toFixed(2);
    return {
      memory: next,
      found: `Only ${got} mAh passed in a minute; at least ${least} mAh was due.`,
    };
  },
};
