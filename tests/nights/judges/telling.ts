/** What there is to be told in a night: the alarms on the board, and runs that were on and are over. */

import type { Tank } from '../../../daemon/control/tank.ts';
import type { Alarm } from '../../../daemon/wire/run.ts';
import type { Evidence } from './evidence.ts';

/** Sees every alarm once, and hands the ends of runs to the ears. */
export class Telling {
  readonly alarmCodes = new Set<string>();
  readonly #evidence: Evidence;
  readonly #alarmsSeen = new Set<string>();
  #board: readonly Alarm[] = [];
  readonly #alarms: { readonly atMs: number; readonly code: string }[] = [];
  /** The run whose output was on, until its end is known. */
  #toBeTold: { readonly runId: string; readonly beganMs: number } | null = null;

  constructor(evidence: Evidence) {
    this.#evidence = evidence;
  }

  /** The board is what pages show, whether the disk has an alarm or not. */
  lookAtBoard(tank: Tank): void {
    if (tank.alarms.standing === this.#board) return;
    this.#board = tank.alarms.standing;
    for (const { code, priority, wallMs, found } of tank.alarms.standing) {
      const key = `${code} ${wallMs} ${found}`;
      if (this.#alarmsSeen.has(key)) continue;
      this.#alarmsSeen.add(key);
      this.#alarmed(code, priority);
    }
  }

  #alarmed(code: string, priority: string): void {
    this.#evidence.record.note('alarm', `${priority} ${code}`);
    this.alarmCodes.add(code);
    this.#alarms.push({ atMs: this.#evidence.nowMs, code });
  }

  /** Whether an alarm with this code has come up since then, ms. */
  called(alarmCode: string, sinceMs: number): boolean {
    return this.#alarms.some(({ code, atMs }) => code === alarmCode && atMs >= sinceMs);
  }

  /** The disk has an alarm of a trip that stood at the last look. */
  get keptTrip(): boolean {
    return this.#board.some(({ id, priority }) => priority === 'stopped' && id > 0);
  }

  /** ON has reached the supply for this run. */
  runIsOn(runId: string): void {
    this.#toBeTold ??= { runId, beganMs: this.#evidence.nowMs };
  }

  /** Whoever asked for what is over stands before it. */
  endIsSeen(): void {
    this.#toBeTold = null;
  }

  endIsToBeTold(): void {
    if (this.#toBeTold === null) return;
    const { runId, beganMs } = this.#toBeTold;
    this.#toBeTold = null;
    this.#evidence.parts.ears.runEnded(runId, beganMs);
  }
}
