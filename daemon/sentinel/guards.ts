/** All tanks whose output may be on, and the OFF of all of them at once. */

import { Guard } from './guard.ts';
import type { OffResult } from './guard.ts';
import type { SentinelOffScript } from '../wire/process.ts';

export class Guards {
  readonly #guards = new Map<string, Guard>();

  get isEmpty(): boolean {
    return this.#guards.size === 0;
  }

  /** True when any of them is a line that outlives control; a simulated supply ends with it. */
  get holdLines(): boolean {
    return [...this.#guards.values()].some((guard) => guard.hasLine);
  }

  /** Holds a tank's way to OFF; a new script takes the place of the old one. Throws when it cannot. */
  hold(tankId: string, script: SentinelOffScript): void {
    const fresh = new Guard(tankId, script);
    this.#guards.get(tankId)?.close();
    this.#guards.set(tankId, fresh);
  }

  release(tankId: string): void {
    this.#guards.get(tankId)?.close();
    this.#guards.delete(tankId);
  }

  clear(): void {
    for (const tankId of this.#guards.keys()) this.release(tankId);
  }

  /** Sends OFF over what is held, without waiting for anything. */
  shout(): void {
    for (const guard of this.#guards.values()) guard.shout();
  }

  /**
   * Switches all of them off side by side until confirmed or until the signal ends it. Confirmed
   * ones are let go; the others stay held.
   */
  async switchOff(
    signal: AbortSignal,
    onTrouble: (tankId: string, reason: string) => void,
  ): Promise<readonly OffResult[]> {
    const results = await Promise.all(
      [...this.#guards.values()].map((guard) =>
        guard.switchOff(signal, (reason) => onTrouble(guard.tankId, reason)),
      ),
    );
    for (const result of results) if (result.confirmed) this.release(result.tankId);
    return results;
  }
}
