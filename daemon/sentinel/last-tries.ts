/** OFF after which nothing follows: tried for as long as an output may be on and nobody asks to leave. */

import { setTimeout as wait } from 'node:timers/promises';
import type { Aftermath, Tell } from './aftermath.ts';
import type { Budgets } from './budgets.ts';
import type { OffResult } from './guard.ts';

/** They go on in rounds, so that whoever asks to leave is heard, ms. */
const roundMs = 10_000;
const pauseMs = 1_000;

export interface LastTriesParts {
  readonly aftermath: Pick<Aftermath, 'switchOff'>;
  readonly budgets: Pick<Budgets, 'lastAttemptsMs' | 'tellAgainMs'>;
  readonly tell: Tell;
  /** All that may be known of the outputs is known now: for the log, and for whoever was called. */
  readonly settled: (results: readonly OffResult[]) => void;
  /** Somebody asks to leave. */
  readonly stop: AbortSignal;
}

/** Calls for the same thing come at longer and longer intervals, up to so many times the first. */
const longestIntervals = 6;

/** The tanks whose output may be on and where another try may tell. */
function openOf(results: readonly OffResult[]): readonly string[] {
  return results.filter(({ confirmed, blind }) => !confirmed && !blind).map(({ tankId }) => tankId);
}

/**
 * Goes on from results with an output that is not off; somebody is sent to the bench again and again,
 * and told how to end it, since a supply without mains never says that it is off.
 */
export async function tryOn(
  results: readonly OffResult[],
  { aftermath, budgets, tell, settled, stop }: LastTriesParts,
): Promise<readonly OffResult[]> {
  let latest = results;
  let intervals = 1;
  let nextMs = performance.now() + budgets.tellAgainMs;
  while (openOf(latest).length > 0 && !stop.aborted) {
    await wait(pauseMs, undefined, { signal: stop }).catch(() => {});
    if (stop.aborted) break;
    latest = await aftermath.switchOff(Math.min(budgets.lastAttemptsMs, roundMs));
    const open = openOf(latest);
    if (open.length > 0 && performance.now() >= nextMs) {
      intervals = Math.min(2 * intervals, longestIntervals);
      nextMs = performance.now() + intervals * budgets.tellAgainMs;
      tell({
        grave: true,
        title: `The output is still not confirmed off: ${open.join(', ')}`,
        text: [
          'Go to the bench now and switch the supply off by hand, at its mains switch.',
          'Then end Nightbath: OFF is tried, and this is said again, until it is read back as off.',
          ...latest.map(({ tankId, message }) => `Tank ${tankId}: ${message}`),
        ].join('\n'),
      });
    }
  }
  if (openOf(results).length > 0 && openOf(latest).length === 0) settled(latest);
  return latest;
}
