/** I3, I6, I13: what a powered run may not bear. */

import type { ActiveRun } from '../../../daemon/control/snapshot.ts';
import type { Glance } from '../../../drivers/simulated/model.ts';
import { settlingMs } from '../../../daemon/run/watch/rule.ts';
import { poweredConditions } from '../powered.ts';
import type { Evidence } from './evidence.ts';

/** Judges the run that is on, for as long as it is. */
export class RunOn {
  readonly #evidence: Evidence;
  #powered = false;
  /** Time with the output truly on in this run, ms. */
  #poweredMs = 0;
  #onReceivedMs = Infinity;
  #sentinelHeardMs = 0;
  /** The set-point, the larger one that it has replaced, and when it did. */
  #setAmps = 0;
  #formerAmps = 0;
  #fellMs = -Infinity;

  constructor(evidence: Evidence) {
    this.#evidence = evidence;
  }

  onReceived(): void {
    this.#onReceivedMs = this.#evidence.nowMs;
  }

  runCame(): void {
    this.#poweredMs = 0;
    [this.#setAmps, this.#fellMs] = [0, -Infinity];
  }

  passed(truth: Glance, passedMs: number): void {
    if (truth.outputOn) this.#poweredMs += passedMs;
  }

  isOff(): void {
    this.#powered = false;
  }

  #mostSetAmps(setAmps: number): number {
    const { nowMs, scale } = this.#evidence;
    if (setAmps < this.#setAmps) [this.#formerAmps, this.#fellMs] = [this.#setAmps, nowMs];
    this.#setAmps = setAmps;
    return nowMs - this.#fellMs > settlingMs * scale
      ? setAmps
      : Math.max(setAmps, this.#formerAmps);
  }

  judge(run: ActiveRun, truth: Glance): void {
    const { parts, faults, controlSinceMs, scale } = this.#evidence;
    // What stood in a run that is over, or before a lift, says nothing about what is on now.
    if (!this.#powered) this.#evidence.standsAnew();
    this.#powered = true;
    const { host, sentinel, stepAmps, stepVolts, tellsRestarts } = parts;
    if (!sentinel.hangs) this.#sentinelHeardMs = host.nowMs;
    faults.settled(run.state.programming);
    const conditions = poweredConditions({
      nowMs: host.nowMs,
      run,
      truth,
      fired: faults.all,
      affected: (effect, graceMs) => faults.affected(effect, graceMs),
      scale,
      stepAmps,
      stepVolts,
      tellsRestarts,
      sentinelSilentMs: host.nowMs - this.#sentinelHeardMs,
      asleepUntilMs: host.asleepUntilMs,
      lastSleepMs: host.lastSleepMs,
      controlSinceMs,
      onSinceMs: this.#onReceivedMs,
      stuckAtAmps: faults.stuckAtAmps,
      poweredMs: this.#poweredMs,
      mostSetAmps: this.#mostSetAmps(run.state.confirmedAmps),
    });
    for (const { invariant, what, holds, forMs } of conditions) {
      this.#evidence.stands(invariant, what, holds, forMs);
    }
  }
}
