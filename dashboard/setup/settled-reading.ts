/** The current that a supply shows once its last readings agree; each current is judged by its own. */

import type { TankSnapshot } from '../../daemon/wire/bench.ts';

type Seen = Pick<TankSnapshot, 'id' | 'output' | 'facts'> & {
  readonly reading: Pick<NonNullable<TankSnapshot['reading']>, 'wallMs' | 'amps'> | null;
  readonly run: Pick<NonNullable<TankSnapshot['run']>, 'id'> | null;
};

/** So many readings one after the other have to agree. */
const agreeing = 4;
/** They lie within this share of their mean, or within so many steps of the supply. */
const spreadShare = 0.01;
const spreadSteps = 2;

export class SettledReading {
  #current = '';
  #lastWallMs: number | null = null;
  #amps: number[] = [];

  /** Looks at a tank as it is now; true where another current is on it than at the last look. */
  see({ id, output, reading, run }: Seen): boolean {
    const current = `${id} ${run?.id ?? ''}`;
    const isOther = current !== this.#current;
    this.#current = current;
    if (isOther || output !== 'on' || reading === null) {
      this.#amps = [];
      // What stands there may be of the current before.
      this.#lastWallMs = reading?.wallMs ?? null;
      return isOther;
    }
    if (reading.wallMs === this.#lastWallMs) return false;
    this.#lastWallMs = reading.wallMs;
    this.#amps = [...this.#amps, reading.amps].slice(-agreeing);
    return false;
  }

  /** The mean of the last readings, A; null until they agree. */
  amps(stepAmps: number): number | null {
    if (this.#amps.length < agreeing) return null;
    const mean = this.#amps.reduce((sum, one) => sum + one, 0) / agreeing;
    const spread = Math.max(...this.#amps) - Math.min(...this.#amps);
    const most = Math.max(spreadShare * Math.abs(mean), spreadSteps * stepAmps);
    // The last bit of a difference of two readings is none of the meter's.
    return spread <= most * (1 + 1e-9) ? mean : null;
  }
}
