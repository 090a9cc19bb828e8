/** What a fault of a night is: when it may begin, what it takes away, how long it lasts and what it does. */

import type { RandomStream } from '../../../drivers/simulated/random.ts';
import type { Moment, World } from '../world.ts';

/**
 * What a fault takes away from those who look on.
 * - `meter`: readings do not show the truth.
 * - `charge`: what was counted proves nothing.
 * - `off`: OFF is not obeyed.
 * - `hidden`: current flows that no reading can show.
 * - `line`: the line to the supply does not carry.
 * - `disk`: what is on record may be gone or incomplete.
 * - `wild`: current can run up to all that the supply can give.
 * - `forgets`: the log knows nothing of what went before.
 */
export type Effect = 'meter' | 'charge' | 'off' | 'hidden' | 'line' | 'disk' | 'wild' | 'forgets';

/** One fault of the catalogue. */
export interface FaultKind {
  readonly name: string;
  readonly group:
    | 'serial'
    | 'supply'
    | 'cell'
    | 'host'
    | 'clock'
    | 'database'
    | 'operator'
    | 'sentinel'
    | 'alerts';
  /** A run has to bear it: a trip is a false one. */
  readonly benign: boolean;
  readonly moments: readonly Moment[];
  readonly effects: readonly Effect[];
  readonly lastsMs: (random: RandomStream, wantedMs: number) => number;
  /** Whether it can happen now; where it cannot it does not, and excuses nothing. */
  readonly fits: (world: World) => boolean;
  /** Begins it; returns how it ends, or null where it has no end of its own. */
  readonly begin: (world: World) => (() => void) | null;
}
