/** OFF that is owed without a run to see to it: asked for until the supply confirms it, with an alarm when that takes long. */

import { faultOf } from '../run/faults.ts';
import type { ChargeSeen } from '../wire/run.ts';
import type { TankClock } from './clock.ts';
import type { Journal } from './journal.ts';

/** Unconfirmed for this long, a person is called. */
const alarmAfterMs = 3_000;
/** A current that grows by less is not written again. */
const grownShare = 1.01;

/** A run of a former process that is not settled before its output is read back as off. */
export interface OwedRun {
  readonly runId: string;
  /** As its row has it; null in a row from before it was kept. */
  readonly chargeSeen: ChargeSeen | null;
  /**
   * The most charge that may have passed by a wall time at which the output was off for certain, A·h, where
   * up to `foundAmps`, A, was found to flow meanwhile.
   */
  readonly highAmpHoursAt: (wallMs: number, foundAmps: number) => number;
}

export class OffDebt {
  readonly #clock: TankClock;
  readonly #switchOff: () => Promise<boolean>;
  readonly #journal: Journal;
  readonly #runs = new Map<string, OwedRun>();
  #sinceMs: number | null = null;
  #foundAmps = 0;
  #alarmed = false;
  #wasOwed = false;

  constructor(clock: TankClock, switchOff: () => Promise<boolean>, journal: Journal) {
    this.#clock = clock;
    this.#switchOff = switchOff;
    this.#journal = journal;
  }

  get owed(): boolean {
    return this.#sinceMs !== null;
  }

  /** An OFF without a run has been owed since this process began: what comes on is no one's own business. */
  get wasOwed(): boolean {
    return this.#wasOwed;
  }

  /** The runs of a former process are settled in the log once their OFF is read back. */
  owe(runs: readonly OwedRun[] = []): void {
    for (const run of runs) this.#runs.set(run.runId, run);
    this.#sinceMs ??= this.#clock.nowMs();
    this.#wasOwed = true;
  }

  /** What an attempt at OFF has found to flow, A; null tells nothing. */
  saw(amps: number | null): void {
    if (!this.owed || amps === null || !(amps > this.#foundAmps * grownShare)) return;
    if (!Number.isFinite(amps)) return;
    this.#foundAmps = amps;
    this.#journal.found([...this.#runs.values()], amps);
  }

  /** An OFF was confirmed, whoever asked for it. */
  paid(): void {
    if (this.#sinceMs === null) return;
    this.#sinceMs = null;
    this.#alarmed = false;
    this.#journal.settle([...this.#runs.values()], this.#foundAmps * grownShare);
    this.#foundAmps = 0;
    this.#runs.clear();
    const message = 'Output off, read back from the supply.';
    this.#journal.event(null, { atMs: this.#clock.nowMs(), code: 'offConfirmed', message });
  }

  /** One more attempt. */
  async settle(): Promise<void> {
    await this.#switchOff();
    this.look();
  }

  /** Calls a person once it has been owed for too long, also while an attempt goes on. */
  look(): void {
    if (this.#sinceMs === null || this.#alarmed) return;
    const atMs = this.#clock.nowMs();
    const owedMs = atMs - this.#sinceMs;
    if (owedMs < alarmAfterMs) return;
    this.#alarmed = true;
    const found = `OFF has been owed for ${(owedMs / 1000).toFixed(1)} s and the supply does not confirm it.`;
    this.#journal.alarm(null, faultOf('offUnconfirmed', atMs, found), 'stopped');
  }
}
