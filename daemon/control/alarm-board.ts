/** The alarms of one tank that nobody has acknowledged yet. */

import type { Alarm } from '../wire/run.ts';

export class AlarmBoard {
  readonly #changed: () => void;
  #standing: readonly Alarm[] = [];

  constructor(changed: () => void) {
    this.#changed = changed;
  }

  get standing(): readonly Alarm[] {
    return this.#standing;
  }

  /** What stood when the last process ended, before anything that has come since. */
  restore(alarms: readonly Alarm[]): void {
    const later = this.#standing.filter((one) => alarms.every((other) => other.id !== one.id));
    this.#standing = [...alarms, ...later];
  }

  /** A new alarm, or an old one that has been acknowledged. */
  take(alarm: Alarm): void {
    const others = this.#standing.filter((one) => one.id !== alarm.id);
    this.#standing = alarm.acknowledgedWallMs === null ? [...others, alarm] : others;
    this.#changed();
  }
}
