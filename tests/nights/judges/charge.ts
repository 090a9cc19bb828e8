/** I8 and I9: keeps an account of what truly flowed in each run, and has the charge on record held against it. */

import type { ActiveRun } from '../../../daemon/control/snapshot.ts';
import { isFinal } from '../../../daemon/run/state.ts';
import type { Glance } from '../../../drivers/simulated/model.ts';
import { judgeCharge, type ChargeAccount } from '../charge-account.ts';
import type { Effect } from '../faults/kind.ts';
import type { Changed } from './changed.ts';
import type { Evidence } from './evidence.ts';
import type { Stretch } from './fired-faults.ts';

/** The accounts of all runs of a night. */
export class Charge {
  readonly #evidence: Evidence;
  readonly #changed: Changed;
  #account: ChargeAccount | null = null;
  /** Every run that was seen, in order. */
  readonly #begun: ChargeAccount[] = [];
  readonly #accountsJudged = new Set<string>();
  #byHandCoulombs = 0;
  #handSinceCoulombs: number | null = null;

  constructor(evidence: Evidence, changed: Changed) {
    this.#evidence = evidence;
    this.#changed = changed;
  }

  noteHand(onByHand: boolean): void {
    this.#byHandCoulombs = this.#handCoulombs;
    this.#handSinceCoulombs = onByHand ? this.#evidence.glance().chargeCoulombs : null;
  }

  /** What has passed since somebody switched on at the panel, over all times, C: no run's own charge. */
  get #handCoulombs(): number {
    if (this.#handSinceCoulombs === null) return this.#byHandCoulombs;
    return this.#byHandCoulombs + this.#evidence.glance().chargeCoulombs - this.#handSinceCoulombs;
  }

  runCame({ record }: ActiveRun): void {
    this.#account = {
      runId: record.id,
      cameMs: this.#evidence.nowMs,
      fromCoulombs: this.#evidence.glance().chargeCoulombs,
      endCoulombs: null,
      handFromCoulombs: this.#handCoulombs,
      handEndCoulombs: null,
      askedAmpHours: null,
      peakAmps: 0,
    };
    this.#begun.push(this.#account);
  }

  look(truth: Glance): void {
    const account = this.#account;
    if (account !== null) account.peakAmps = Math.max(account.peakAmps, truth.amps);
  }

  /** The most that can have flowed between two readings where nothing holds the current back, A. */
  #peakAmps(account: ChargeAccount, stretch: Stretch): number {
    const { parts, faults } = this.#evidence;
    const wild = faults.affectedWithin('wild', stretch);
    return wild ? Math.max(account.peakAmps, parts.ceilingAmps) : account.peakAmps;
  }

  /** A run that is over and off is judged once. */
  judgeEnd(run: ActiveRun, truth: Glance): void {
    const { state } = run;
    if (this.#account?.runId === run.record.id) {
      this.#account.askedAmpHours = this.#changed.askedAmpHours(run.record.id);
    }
    if (this.#account?.runId === run.record.id && isFinal(state.lifecycle)) {
      if (state.output === 'confirmedOff' && this.#account.endCoulombs === null) {
        this.#account.endCoulombs = truth.chargeCoulombs;
        this.#account.handEndCoulombs = this.#handCoulombs;
        this.#judgeAccount(run, this.#account);
      }
    }
  }

  #judgeAccount(run: ActiveRun, account: ChargeAccount): void {
    const { parts, record, faults } = this.#evidence;
    if (this.#accountsJudged.has(account.runId)) return;
    this.#accountsJudged.add(account.runId);
    // What excuses a run has to have happened in it: what befell another one is nothing to it.
    const stretch = { fromMs: account.cameMs, toMs: this.#evidence.nowMs };
    const met = (effect: Effect): boolean => faults.affectedWithin(effect, stretch);
    if (met('charge') || met('hidden')) return;
    // A supply that denied its ON had current all the same, which nobody counted.
    if (run.state.outcome?.faultCode === 'outputRefused' && met('off')) return;
    // Until an OFF that is not obeyed at once is, some cycles pass that are in the bounds alone.
    const { stepAmps, cycleMs } = parts;
    const meter = { stepAmps, cycleMs: met('off') ? 3 * cycleMs : cycleMs };
    for (const [invariant, what] of judgeCharge(
      run,
      { ...account, peakAmps: this.#peakAmps(account, stretch) },
      meter,
    )) {
      // No OFF gets through where nothing is plugged in, or somebody else is: current flows on past the target.
      if (invariant === 'I9' && faults.lineCut) continue;
      if (invariant === 'I8' && faults.wildUnseenWithin(stretch)) continue;
      record.violated(invariant, what);
    }
  }

  /**
   * Runs whose output was read back as off by a later process: cut short, or ended before it was. What
   * really flowed lies within what is on record.
   */
  judgeInterrupted(): void {
    const { parts, record, faults } = this.#evidence;
    const { file } = parts.disk;
    this.#begun.forEach((account, index) => {
      const next = this.#begun[index + 1];
      const stretch = { fromMs: account.cameMs, toMs: next?.cameMs ?? this.#evidence.nowMs };
      const effects = ['charge', 'hidden', 'disk'] as const;
      if (effects.some((one) => faults.affectedWithin(one, stretch))) return;
      // A log that is lost forgets all runs until then.
      if (faults.affectedWithin('forgets', { fromMs: account.cameMs, toMs: Infinity })) return;
      const run = file.runs.get(account.runId);
      if (run === undefined || this.#accountsJudged.has(run.id)) return;
      if (run.outcome === null || !run.offConfirmed) return;
      const carried = run.continues === null ? undefined : file.runs.get(run.continues);
      const untilCoulombs = next?.fromCoulombs ?? this.#evidence.glance().chargeCoulombs;
      const trueAmpHours = (untilCoulombs - account.fromCoulombs) / 3600;
      const handUntil = next?.handFromCoulombs ?? this.#handCoulombs;
      const handAmpHours = (handUntil - account.handFromCoulombs) / 3600;
      const low = run.lowAmpHours - (carried?.lowAmpHours ?? 0);
      // What a supply lets flow that does not keep to its set-point, while nobody looks, nothing bounds.
      const high = faults.ranUpWithin(stretch)
        ? Infinity
        : run.highAmpHours - (carried?.highAmpHours ?? 0);
      const peakAmps = this.#peakAmps(account, stretch);
      const hours = (stretch.toMs - stretch.fromMs) / 3_600_000;
      // Half a step of the meter on top, for the seconds that a short check takes.
      const meterAmpHours = Math.min(0.01, hours) * (parts.stepAmps / 2);
      const slack = 0.005 * trueAmpHours + (peakAmps * 1.5) / 3600 + meterAmpHours;
      const told = `${run.outcome.end} run ${run.id} has ${low.toFixed(6)} to ${high.toFixed(6)} A·h on record, and`;
      // Let flow at the panel, it may be seen and counted, or not.
      if (trueAmpHours < low - slack || trueAmpHours - handAmpHours > high + slack) {
        record.violated('I8', `${told} ${trueAmpHours.toFixed(6)} A·h flowed.`);
      }
      // A clock that was moved is answered with the longest time; what the sentinel notes is a minute old.
      if (high === Infinity || faults.clockMovedWithin(stretch)) return;
      const mostAmps = Math.max(run.plan.limits.maxAmps, peakAmps);
      const most = mostAmps * (hours + 1 / 60);
      if (high <= most + slack) return;
      record.violated(
        'I8',
        `${told} in all its time no more than ${most.toFixed(6)} A·h can flow.`,
      );
    });
  }
}
