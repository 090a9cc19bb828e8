/** An output that is on while there is no run to answer for it: a person is told, once per spell. */

import type { RectifierReading } from '../../drivers/contract.ts';
import { faultOf } from '../run/faults.ts';
import type { TankClock } from './clock.ts';
import type { Journal } from './journal.ts';

export class StrayOutput {
  readonly #clock: TankClock;
  readonly #journal: Journal;
  #told = false;

  constructor(clock: TankClock, journal: Journal) {
    this.#clock = clock;
    this.#journal = journal;
  }

  /** Whether `judge` would call a person. */
  isNews(live: boolean): boolean {
    return live && !this.#told;
  }

  /**
   * Nothing is switched here: what hangs in the bath without a run is the maker's own business, unless
   * an OFF had been owed.
   */
  judge(live: boolean, { outputOn, amps }: RectifierReading): void {
    if (!live) {
      this.#told = false;
      return;
    }
    if (this.#told) return;
    this.#told = true;
    const says = outputOn === true ? 'The supply says that its output is on' : 'Current flows';
    const found = `${says}, at ${amps.toFixed(3)} A, and there is no run on this tank.`;
    this.#journal.alarm(null, faultOf('outputFoundOn', this.#clock.nowMs(), found), 'stopped');
  }
}
