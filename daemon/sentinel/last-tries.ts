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
  /** Somebody asks to leave. */
  readonly stop: AbortSignal;
}

function isOpen(results: readonly OffResult[]): boolean {
  return results.some(({ confirmed }) => !confirmed);
}

/** Goes on from results with an output that is not off; somebody is sent to the bench again and again. */
export async function tryOn(
  results: readonly OffResult[],
  { aftermath, budgets, tell, stop }: LastTriesParts,
): Promise<readonly OffResult[]> {
  const sinceMs = performance.now();
  const minutes = (): number => Math.round((performance.now() - sinceMs) / 60_000);
  let latest = results;
  let toldMs = sinceMs;
  while (isOpen(latest) && !stop.aborted) {
    await wait(pauseMs, undefined, { signal: stop }).catch(() => {});
    if (stop.aborted) break;
    latest = await aftermath.switchOff(Math.min(budgets.lastAttemptsMs, roundMs));
    if (!isOpen(latest)) {
      tell({
        grave: false,
        title: 'The output is off now',
        text: `It was read back as off after ${minutes()} more minutes of trying. Look at the bench all the same.`,
      });
    } else if (performance.now() - toldMs >= budgets.tellAgainMs) {
      toldMs = performance.now();
      tell({
        grave: true,
        title: 'The output is still not confirmed off',
        text: `Go to the bench now and switch the supply off by hand, at its mains switch. OFF has been sent for ${minutes()} minutes.`,
      });
    }
  }
  return latest;
}
