/** Faults of the wall clock. */

import { anytime, between, logBetween, once, type Row } from './row.ts';

/** The rows of the group `clock`, in the catalogue's order. */
export const clock: readonly Row[] = [
  [
    'wallStep',
    'benign',
    anytime,
    [],
    once,
    ({ host, random }) => {
      host.stepWall((random.uniform() < 0.5 ? -1 : 1) * between(random, 1_000, 3_600_000));
      return null;
    },
  ],
  [
    'wallSlew',
    'benign',
    anytime,
    [],
    logBetween(10_000, 1_000_000),
    ({ host, random }) => {
      host.slewWall(between(random, -0.05, 0.05));
      return () => host.slewWall(0);
    },
  ],
];
