/** All tanks whose output may be on: the limits of their runs, their ways to OFF, and the OFF of all at once. */

import type { RunBounds, SentinelOffScript, TankReport } from '../wire/process.ts';
import { Guard } from './guard.ts';
import type { OffResult, Way } from './guard.ts';
import { lastingNames } from './lasting-name.ts';
import { TankLimits } from './own-limits.ts';
import type { HardLimits } from './own-limits.ts';

export interface GuardsOptions {
  /** By tank; a tank that is not in the settings cannot be guarded. */
  readonly hardLimits: ReadonlyMap<string, HardLimits>;
  /** Folders with lasting names of serial devices. */
  readonly nameFolders: readonly string[];
  /** Called after each change of what is held. */
  readonly onChange: () => void;
}

/** Whether a tank is held, and by which bounds. */
export interface StandingGuard {
  readonly held: boolean;
  readonly bounds: RunBounds | null;
}

export class Guards {
  readonly #options: GuardsOptions;
  readonly #guards = new Map<string, Guard>();
  /** How each tank would be switched off if its output turned out to be on without a guard. */
  readonly #ways = new Map<string, Way>();
  readonly #limits = new Map<string, TankLimits>();

  constructor(options: GuardsOptions) {
    this.#options = options;
    for (const [tankId, hard] of options.hardLimits) {
      this.#limits.set(tankId, new TankLimits(tankId, hard));
    }
  }

  get isEmpty(): boolean {
    return this.#guards.size === 0;
  }

  /** True when any of them is a line that outlives control; a simulated supply ends with it. */
  get holdLines(): boolean {
    return [...this.#guards.values()].some((guard) => guard.hasLine);
  }

  /** Whether this tank's supply is on a line that outlives control, as far as its guard tells. */
  holdsLine(tankId: string): boolean {
    return this.reachWithinMs(tankId) !== null;
  }

  /** How long this tank's supply may take to be reached, ms; null where nothing leads to it from here. */
  reachWithinMs(tankId: string): number | null {
    return this.#guards.get(tankId)?.reachWithinMs ?? null;
  }

  /** What would have to be switched off if this process were gone, too. */
  get ways(): readonly Way[] {
    return [...this.#guards.values()].filter((guard) => guard.hasLine).map(({ way }) => way);
  }

  /** Remembers how a tank would be switched off; nothing is opened. */
  know(tankId: string, script: SentinelOffScript): void {
    this.#ways.set(tankId, { tankId, script, names: this.#namesOf(script) });
  }

  /** Holds a tank's way to OFF; a new script takes the place of the old one. Throws when it cannot. */
  hold(tankId: string, script: SentinelOffScript, bounds: RunBounds): void {
    const limits = this.#limits.get(tankId);
    if (limits === undefined) throw new Error(`there is no tank ${tankId} in the settings`);
    const guard = new Guard({ tankId, script, names: this.#namesOf(script) });
    guard.hold();
    try {
      limits.admit(bounds);
    } catch (error) {
      guard.close();
      throw error;
    }
    this.#put(guard);
  }

  /** How a tank is held now; what `hold` does after this can be taken back to it. */
  standing(tankId: string): StandingGuard {
    const bounds = this.#limits.get(tankId)?.bounds ?? null;
    return { held: this.#guards.has(tankId), bounds };
  }

  /**
   * Takes a `hold` back. A way that was held before stays held, by the newer script: what runs now has
   * to find its OFF whatever became of the bounds that were asked for.
   */
  takeBack(tankId: string, { held, bounds }: StandingGuard): void {
    if (!held) this.release(tankId);
    else if (bounds === null) this.#limits.get(tankId)?.release();
    else this.#limits.get(tankId)?.admit(bounds);
  }

  /** Takes over what an earlier process left switched on; it is opened when OFF is sent. */
  takeOver(ways: readonly Way[]): void {
    for (const way of ways) this.#put(new Guard(way));
  }

  /** An output is on that was never put under guard: the way to its OFF, as far as it is known. */
  suspect(tankId: string): void {
    const way = this.#ways.get(tankId);
    if (way !== undefined && !this.#guards.has(tankId)) this.#put(new Guard(way));
  }

  release(tankId: string): void {
    this.#limits.get(tankId)?.release();
    this.#guards.get(tankId)?.close();
    if (this.#guards.delete(tankId)) this.#options.onChange();
  }

  clear(): void {
    for (const tankId of this.#guards.keys()) this.release(tankId);
  }

  /** The end of this process: lines are closed, and what is not confirmed off stays written down. */
  letGo(): void {
    for (const guard of this.#guards.values()) guard.close();
  }

  /** The first sentence about what oversteps a limit, or null; its tank is then held for OFF. */
  judge(reports: readonly TankReport[], nowMs: number): string | null {
    for (const report of reports) {
      const found = this.#limits.get(report.tankId)?.judge(report, nowMs) ?? null;
      if (found === null) continue;
      this.suspect(report.tankId);
      return found;
    }
    return null;
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

  #put(guard: Guard): void {
    this.#guards.get(guard.tankId)?.close();
    this.#guards.set(guard.tankId, guard);
    this.#options.onChange();
  }

  #namesOf({ path }: SentinelOffScript): readonly string[] {
    return path?.startsWith('/') === true ? lastingNames(path, this.#options.nameFolders) : [];
  }
}
