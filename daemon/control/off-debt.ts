/** OFF that is owed after a restart: asked for until the supply confirms it, with an alarm when that takes long. */

import { faultOf } from '../run/faults.ts';
import type { TankClock } from './clock.ts';
import type { Journal } from './journal.ts';

/** Unconfirmed for this long, a person is called. */
const alarmAfterMs = 3_000;

export class OffDebt {
  readonly #clock: TankClock;
  readonly #switchOff: () => Promise<boolean>;
  readonly #journal: Journal;
  #sinceMs: number | null = null;
  #alarmed = false;

  constructor(clock: TankClock, switchOff: () => Promise<boolean>, journal: Journal) {
    this.#clock = clock;
    this.#switchOff = switchOff;
    this.#journal = journal;
  }

  get owed(): boolean {
    return this.#sinceMs !== null;
  }

  owe(): void {
    this.#sinceMs ??= this.#clock.nowMs();
  }

  async settle(): Promise<void> {
    const confirmed = await this.#switchOff();
    const atMs = this.#clock.nowMs();
    if (confirmed) {
      this.#sinceMs = null;
      this.#alarmed = false;
      const message = 'Output off after the restart, read back from the supply.';
      this.#journal.event(null, { atMs, code: 'offConfirmed', message });
      return;
    }
    if (this.#alarmed || atMs - (this.#sinceMs ?? atMs) < alarmAfterMs) return;
    this.#alarmed = true;
    const found = 'After the restart the supply does not confirm that its output is off.';
    this.#journal.alarm(null, faultOf('offUnconfirmed', atMs, found), 'stopped');
  }
}
