/** Faults of the disk and of the file on it. */

import { anytime, between, diskFault, forLong, logBetween, once, type Row } from './row.ts';

/** The rows of the group `database`, in the catalogue's order. */
export const database: readonly Row[] = [
  ['diskSlow', 'benign', anytime, [], logBetween(1_000, 60_000), diskFault('slow')],
  ['diskFull', 'grave', anytime, ['disk'], forLong, diskFault('diskFull')],
  ['diskBusy', 'grave', anytime, ['disk'], forLong, diskFault('busy')],
  ['diskError', 'grave', anytime, ['disk'], forLong, diskFault('io')],
  [
    'diskHangs',
    'benign',
    anytime,
    ['disk'],
    (random) => between(random, 500, 6_000),
    diskFault('stall'),
  ],
  [
    'diskGone',
    'grave',
    anytime,
    ['disk'],
    (random) => between(random, 31_000, 120_000),
    diskFault('stall'),
  ],
  [
    'fileDamaged',
    'grave',
    anytime,
    ['disk', 'forgets'],
    once,
    (world) => {
      // Found at the start: the damaged file is kept aside and a fresh one begun.
      world.reboot(between(world.random, 8_000, 20_000));
      world.disk.damage();
      return null;
    },
  ],
];
