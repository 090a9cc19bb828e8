/** Faults of the sentinel, and its loss. */

import { anytime, between, logBetween, once, type Row } from './row.ts';

/** The rows of the group `sentinel`, in the catalogue's order. */
export const sentinel: readonly Row[] = [
  [
    'sentinelRefuses',
    'grave',
    ['boot', 'arming'],
    [],
    logBetween(1_000, 30_000),
    ({ sentinel: guard }) => {
      if (guard.mood !== 'well') return null;
      guard.mood = 'refuses';
      return () => {
        if (guard.mood === 'refuses') guard.mood = 'well';
      };
    },
  ],
  [
    'sentinelHangs',
    'grave',
    anytime,
    [],
    logBetween(1_000, 30_000),
    ({ sentinel: guard }) => {
      if (guard.mood !== 'well') return null;
      guard.mood = 'mute';
      return () => guard.goOn();
    },
  ],
  [
    'sentinelLost',
    'grave',
    anytime,
    [],
    once,
    (world) => {
      world.loseSentinel(between(world.random, 3_000, 20_000), false);
      return null;
    },
  ],
  [
    'bothLost',
    'grave',
    anytime,
    [],
    once,
    (world) => {
      world.loseSentinel(between(world.random, 3_000, 60_000), true);
      return null;
    },
  ],
];
