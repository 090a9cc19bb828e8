/** Faults between the terminals: bath, anode, piece and leads. */

import type { World } from '../world.ts';
import { between, current, forLong, logBetween, running, switched, type Row } from './row.ts';

const wantedAmps = ({ tank }: World): number =>
  Math.max(0.02, tank?.run?.state.confirmedAmps ?? 0.2);
const capVolts = ({ tank }: World): number => tank?.run?.state.plan.limits.setVolts ?? 2;

/** The rows of the group `cell`, in the catalogue's order. */
export const cell: readonly Row[] = [
  [
    'short',
    'grave',
    current,
    ['wild'],
    forLong,
    switched('shortCircuit', ({ random }) => ({ ohms: between(random, 0.0005, 0.006) })),
  ],
  ['open', 'grave', current, [], forLong, switched('openCircuit', () => ({}))],
  [
    'badContact',
    'grave',
    [...current, 'starting'],
    [],
    logBetween(5_000, 4_000_000),
    switched('contactResistance', (world) => ({
      ohms: (capVolts(world) / wantedAmps(world)) * between(world.random, 0.3, 4),
    })),
  ],
  [
    'anodeFilm',
    'grave',
    running,
    [],
    logBetween(60_000, 6_000_000),
    switched('anodeFilm', ({ random }) => ({ ohmsPerHour: between(random, 1, 200) })),
  ],
  [
    'looseContact',
    'grave',
    current,
    ['charge'],
    logBetween(1_000, 60_000),
    ({ host, instrument, random }) => {
      let ended = false;
      const open = (): void => {
        if (ended) return;
        instrument.faults.set('openCircuit', {}, host.nowMs);
        host.after(between(random, 10, 500), () => {
          instrument.faults.clear('openCircuit', host.nowMs);
          host.after(between(random, 20, 4_000), open);
        });
      };
      open();
      return () => {
        ended = true;
        instrument.faults.clear('openCircuit', host.nowMs);
      };
    },
  ],
  [
    'reverseVolts',
    'grave',
    current,
    [],
    forLong,
    switched('reverseEmf', ({ random }) => ({ volts: between(random, 0.1, 3) })),
  ],
];
