/** The alarms of one tank that are not history yet: those that ask for somebody, and those that somebody has taken on while their cause goes on. */

import type { Alarm } from '../wire/run.ts';

export class AlarmBoard {
  readonly #changed: () => void;
  /** Ids under which an alarm was shown before the disk had it, and the ones it has there. */
  readonly #storedIds = new Map<number, number>();
  /** As they are now, by the ids under which they are shown until the disk has them. */
  readonly #unstored = new Map<number, Alarm>();
  /** Ids of all that stood here and that somebody has taken on, over or not. */
  readonly #takenOn = new Set<number>();
  #standing: readonly Alarm[] = [];
  #quiet: readonly Alarm[] = [];

  constructor(changed: () => void) {
    this.#changed = changed;
  }

  /** Not acknowledged yet, whether what they are about goes on or has ended. */
  get standing(): readonly Alarm[] {
    return this.#standing;
  }

  /** Acknowledged, and what they are about goes on: shown, and no more said of. */
  get quiet(): readonly Alarm[] {
    return this.#quiet;
  }

  /** What was open when the last process ended, before anything that has come since. */
  restore(alarms: readonly Alarm[]): void {
    const isNew = (one: Alarm): boolean => alarms.every((other) => other.id !== one.id);
    this.#sort([...alarms, ...[...this.#standing, ...this.#quiet].filter(isNew)]);
  }

  /** An alarm as it now is: new, acknowledged, or over. */
  take(alarm: Alarm): void {
    if (alarm.id < 0 && !this.#storedIds.has(alarm.id)) this.#unstored.set(alarm.id, alarm);
    this.#replace(alarm.id, alarm);
    this.#changed();
  }

  /**
   * The same alarm that stands already, of this tank, of this run or of none, and is no less grave. Where several things
   * can bring up one code, `subject` is how what was found begins for this one of them. One that
   * somebody has taken on while it goes on is no news either, but for what stops a run: who comes upon
   * that anew is called anew.
   */
  repeated(
    { code, tankId, runId, priority }: Pick<Alarm, 'code' | 'tankId' | 'runId' | 'priority'>,
    subject: string,
  ): Alarm | null {
    const same = (one: Alarm): boolean =>
      one.code === code &&
      one.tankId === tankId &&
      one.runId === runId &&
      one.found.startsWith(subject) &&
      (one.priority === priority || one.priority === 'stopped');
    const known = priority === 'stopped' ? this.#standing : [...this.#standing, ...this.#quiet];
    return known.find(same) ?? null;
  }

  /** An alarm that asks, by the id under which a page saw it. */
  find(id: number): Alarm | null {
    const now = this.#storedIds.get(id) ?? id;
    return this.#standing.find((alarm) => alarm.id === now) ?? null;
  }

  /** Whether somebody has taken it on already, by the id under which a page saw it. */
  isTakenOn(id: number): boolean {
    return [id, this.#storedIds.get(id)].some((one) => one !== undefined && this.#takenOn.has(one));
  }

  /** The disk has it now. Answers what it has become in between, under the disk's id. */
  stored(shownId: number, alarm: Alarm): Alarm {
    const now = { ...(this.#unstored.get(shownId) ?? alarm), id: alarm.id };
    this.#unstored.delete(shownId);
    this.#storedIds.set(shownId, alarm.id);
    this.#replace(shownId, now);
    this.#changed();
    return now;
  }

  #replace(id: number, alarm: Alarm): void {
    const open = [...this.#standing, ...this.#quiet];
    const place = open.findIndex((one) => one.id === id);
    if (place < 0) this.#sort([...open, alarm]);
    else this.#sort(open.with(place, alarm));
  }

  #sort(open: readonly Alarm[]): void {
    this.#standing = open.filter(({ acknowledgedWallMs }) => acknowledgedWallMs === null);
    for (const { id, acknowledgedWallMs } of open) {
      if (acknowledgedWallMs !== null) this.#takenOn.add(id);
    }
    this.#quiet = open.filter(
      ({ acknowledgedWallMs, clearedWallMs }) =>
        acknowledgedWallMs !== null && clearedWallMs === null,
    );
  }
}
