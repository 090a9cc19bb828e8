/** What the bench looked like last: kept from what control pushes, and known to be old when control is away. */

import { randomUUID } from 'node:crypto';
import type { Bath } from '../chemistry/model.ts';
import type { ControlClient } from '../control/door.ts';
import type { Settings, UnitSettings } from '../settings/model.ts';
import type { BenchSnapshot, TankSnapshot } from '../wire/bench.ts';
import type { ControlMessage } from '../wire/command.ts';
import type { InterruptedRun } from '../wire/interrupted.ts';
import type { Alarm, EventRow } from '../wire/run.ts';
import { wireVersion } from '../wire/version.ts';

/** What changed; the live socket passes these on. */
export type BenchChange =
  | { readonly type: 'tank'; readonly tank: TankSnapshot }
  | { readonly type: 'interrupted'; readonly runs: InterruptedRun[] }
  | { readonly type: 'event'; readonly event: EventRow }
  | { readonly type: 'alarm'; readonly alarm: Alarm }
  | { readonly type: 'control'; readonly alive: boolean; readonly wallMs: number }
  /** All tanks were read anew. */
  | { readonly type: 'bench' };

export interface BenchStateDeps {
  readonly control: ControlClient;
  readonly settings: Settings;
  readonly baths: readonly Bath[];
  /** Wall time, ms since the epoch. */
  readonly nowMs: () => number;
}

export class BenchState {
  readonly #deps: BenchStateDeps;
  readonly #tanks = new Map<string, { tank: TankSnapshot; receivedMs: number }>();
  readonly #listeners = new Set<(change: BenchChange) => void>();
  #interrupted: InterruptedRun[] = [];
  #alive: boolean;
  #units: UnitSettings;

  constructor(deps: BenchStateDeps) {
    this.#deps = deps;
    this.#alive = deps.control.alive;
    this.#units = deps.settings.units;
    deps.control.onMessage((message) => this.#hear(message));
    deps.control.onAlive((alive) => this.#turn(alive));
    if (this.#alive) void this.#readAll();
  }

  /** False while the control process is away; the tanks are then the last known ones. */
  get controlAlive(): boolean {
    return this.#alive;
  }

  tanks(): readonly TankSnapshot[] {
    const order = this.#deps.settings.tanks.map(({ id }) => id);
    return [...this.#tanks.values()]
      .map(({ tank }) => tank)
      .toSorted((left, right) => order.indexOf(left.id) - order.indexOf(right.id));
  }

  tank(id: string): TankSnapshot | null {
    return this.#tanks.get(id)?.tank ?? null;
  }

  /** Runs that were cut short and wait for a decision, as last told by control. */
  get interrupted(): readonly InterruptedRun[] {
    return this.#interrupted;
  }

  /** How long ago control last spoke of this tank, monotonic ms; null when it never did. */
  silenceMs(id: string): number | null {
    const known = this.#tanks.get(id);
    return known === undefined ? null : performance.now() - known.receivedMs;
  }

  snapshot(): BenchSnapshot {
    return {
      wireVersion,
      studio: this.#deps.settings.studio,
      units: this.#units,
      wallMs: this.#deps.nowMs(),
      controlAlive: this.#alive,
      tanks: [...this.tanks()],
      interrupted: [...this.#interrupted],
      baths: this.#deps.baths.map((bath) => ({ ...bath, notes: [...bath.notes] })),
    };
  }

  /** From now on figures are shown in these; every page is told. */
  showIn(units: UnitSettings): void {
    this.#units = units;
    this.#tell({ type: 'bench' });
  }

  /** Hears of every change from now on; the answer ends it. */
  onChange(listener: (change: BenchChange) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  #tell(change: BenchChange): void {
    for (const listener of this.#listeners) listener(change);
  }

  #keep(tank: TankSnapshot): void {
    this.#tanks.set(tank.id, { tank, receivedMs: performance.now() });
  }

  #hear(message: ControlMessage): void {
    switch (message.type) {
      case 'answer':
        return;
      case 'tank':
        this.#keep(message.tank);
        this.#tell({ type: 'tank', tank: message.tank });
        return;
      case 'interrupted':
        this.#interrupted = message.runs;
        this.#tell(message);
        return;
      case 'event':
        this.#tell({ type: 'event', event: message.event });
        return;
      case 'alarm':
        this.#tell({ type: 'alarm', alarm: message.alarm });
    }
  }

  #turn(alive: boolean): void {
    if (alive === this.#alive) return;
    this.#alive = alive;
    this.#tell({ type: 'control', alive, wallMs: this.#deps.nowMs() });
    if (alive) void this.#readAll();
  }

  /** After control came back its tanks may be others than before; what it pushes fills any gap. */
  async #readAll(): Promise<void> {
    try {
      const answer = await this.#deps.control.command({ kind: 'snapshot' }, randomUUID());
      if (!answer.ok || answer.tanks === undefined) return;
      this.#tanks.clear();
      for (const tank of answer.tanks) this.#keep(tank);
      this.#interrupted = answer.interrupted ?? this.#interrupted;
      this.#tell({ type: 'bench' });
    } catch {
      // Away again; onAlive says so, and the next return reads anew.
    }
  }
}
