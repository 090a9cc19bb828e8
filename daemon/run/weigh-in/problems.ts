/** What is impossible about a weigh-in, beyond figures out of their own range. */

import type { Problem } from '../../piece/model.ts';
import type { WeighIn } from './model.ts';

/** Bounds of the single figures, as the wire holds them; grams and mm. */
export const weighInBounds = {
  mostGrams: 100_000,
  leastBalanceGrams: 0.000_01,
  mostBalanceGrams: 10,
  leastCalliperMm: 0.0001,
  mostCalliperMm: 1,
  mostMm: 2_000,
  mostReadings: 24,
  longestNote: 500,
  longestLabel: 60,
} as const;

/** Every contradiction by field, value and bound; empty for a weigh-in that can be kept. */
export function weighInProblems(weighIn: WeighIn): readonly Problem[] {
  const { beforeGrams, afterGrams, callipers } = weighIn;
  if (beforeGrams === null && afterGrams === null && callipers.length === 0) {
    const bound = 'a mass or a calliper reading';
    const message = `There is nothing to keep yet: enter ${bound}.`;
    return [{ field: 'beforeGrams', value: 'empty', bound, message }];
  }
  if (beforeGrams !== null && afterGrams !== null && afterGrams <= beforeGrams) {
    const bound = `more than the mass before, ${beforeGrams} g`;
    const message = `The mass after is ${afterGrams} g; it must be ${bound}. Were the two swapped, or the piece weighed with and without its hanger?`;
    return [{ field: 'afterGrams', value: `${afterGrams}`, bound, message }];
  }
  return [];
}
