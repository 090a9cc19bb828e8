/** Watches the watcher: without a sentinel that answers, no run goes on. */

import { isFinal } from '../run/state.ts';
import type { SentinelGuardian } from './guardian.ts';
import { sentinelSilenceMs } from './sentinel-watch.ts';
import type { Tank } from './tank.ts';

export class Vigil {
  readonly #guardian: Pick<SentinelGuardian, 'silentMs'>;
  readonly #tanks: ReadonlyMap<string, Tank>;
  #told = false;
  /** What stands in the events of a run and still holds, by run: each of its changes asks anew. */
  readonly #saidMaySleep = new Map<string, string>();

  constructor(
    guardian: Pick<SentinelGuardian, 'silentMs' | 'onSleep'>,
    tanks: ReadonlyMap<string, Tank>,
  ) {
    this.#guardian = guardian;
    this.#tanks = tanks;
    guardian.onSleep((held, reason) => {
      if (held) this.#saidMaySleep.clear();
      else this.#sayMaySleep(reason);
    });
  }

  /**
   * At every tick. A sentinel that hangs could not switch off if this process died, so every run is
   * tripped while there is still somebody to switch it off; its own watchdog may restart it.
   */
  look(): void {
    const silentMs = this.#guardian.silentMs();
    if (silentMs < sentinelSilenceMs) {
      this.#told = false;
      return;
    }
    if (this.#told) return;
    this.#told = true;
    const found = `The sentinel has not answered for ${(silentMs / 1000).toFixed(1)} s.`;
    for (const { tank } of this.#underWay()) {
      tank.feed({ kind: 'fault', atMs: tank.clock.nowMs(), code: 'sentinelLost', found });
    }
  }

  #sayMaySleep(reason: string): void {
    const message = `This computer is not kept awake, and a sleep would end the run: switch its sleep off by hand. (${reason})`;
    for (const { tank, run } of this.#underWay()) {
      const { id } = run.record;
      if (tank.simulated || this.#saidMaySleep.get(id) === reason) continue;
      this.#saidMaySleep.set(id, reason);
      tank.journal.event(run, { atMs: tank.clock.nowMs(), code: 'maySleep', message });
    }
  }

  #underWay() {
    return [...this.#tanks.values()].flatMap((tank) => {
      const { run } = tank;
      return run === null || isFinal(run.state.lifecycle) ? [] : [{ tank, run }];
    });
  }
}
