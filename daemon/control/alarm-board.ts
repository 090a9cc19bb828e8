/** The alarms of one tank that nobody has acknowledged yet. */

import type { Alarm } from '../wire/run.ts';

export class AlarmBoard {
  readonly #changed: () => void;
  /** Ids under which an alarm was shown before the disk had it, and the ones it has there. */
  readonly #storedIds = new Map<number, number>();
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

  /**
   * The same alarm stands already, of this run or of none, and is no less grave. Where several things
   * can bring up one code, `subject` is how what was found begins for this one of them.
   */
  repeats(
    { code, runId, priority }: Pick<Alarm, 'code' | 'runId' | 'priority'>,
    subject: string,
  ): boolean {
    return this.#standing.some(
      (one) =>
        one.code === code &&
        one.runId === runId &&
        one.found.startsWith(subject) &&
        (one.priority === priority || one.priority === 'stopped'),
    );
  }

  /** An alarm by the id under which a page saw it. */
  find(id: number): Alarm | null {
    const now = this.#storedIds.get(id) ?? id;
    return this.#standing.find((alarm) => alarm.id === now) ?? null;
  }

  /** The disk has it now. False where it was acknowledged in between and stands no more. */
  stored(shownId: number, alarm: Alarm): boolean {
    const stood = this.#standing.some((one) => one.id === shownId);
    this.#storedIds.set(shownId, alarm.id);
    if (!stood) return false;
    this.#standing = this.#standing.map((one) => (one.id === shownId ? alarm : one));
    this.#changed();
    return true;
  }
}
