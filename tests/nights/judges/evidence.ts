/** What the judges of a night go by: its parts, its record, its faults, and how long a thing has stood. */

import type { Glance } from '../../../drivers/simulated/model.ts';
import type { SimulatedInstrument } from '../../../drivers/simulated/instrument.ts';
import type { SensorTrouble, WantedSensor } from '../besides.ts';
import type { Control } from '../control.ts';
import type { Disk } from '../disk.ts';
import type { Ears } from '../ears.ts';
import type { Host } from '../host.ts';
import { FiredFaults } from './fired-faults.ts';
import { NightRecord } from './record.ts';

/** The monitor looks this often, ms. */
export const sampleMs = 250;

/** What a night gives to its monitor. */
export interface MonitorParts {
  readonly host: Host;
  readonly instrument: SimulatedInstrument;
  readonly disk: Disk;
  readonly ears: Ears;
  readonly control: () => Control | null;
  readonly limits: { readonly maxAmps: number; readonly maxVolts: number };
  readonly offAmps: number;
  readonly stepAmps: number;
  readonly stepVolts: number;
  readonly cycleMs: number;
  readonly tellsRestarts: boolean;
  readonly sentinel: { readonly hangs: boolean; readonly guards: boolean };
  /** The thermometer of the bath, where there is one. */
  readonly sensor: {
    readonly line: { readonly trouble: SensorTrouble };
    readonly wanted: WantedSensor;
  } | null;
  /** What the supply can give when its regulation fails. */
  readonly ceilingAmps: number;
  /** The whole record is wanted, not its end alone. */
  readonly keepsAll: boolean;
  /** The tank allows hardly more time than the plan takes. */
  readonly tight: boolean;
}

interface Standing {
  sinceMs: number | null;
}

/** One for all judges of a night. */
export class Evidence {
  readonly parts: MonitorParts;
  readonly record: NightRecord;
  readonly faults: FiredFaults;
  /** Since when the present control process is there, ms. */
  controlSinceMs = 0;
  #lastControl: Control | null = null;
  #tankSinceMs: number | null = null;
  /** By invariant and what stands. */
  readonly #standing = new Map<string, Map<string, Standing>>();

  constructor(parts: MonitorParts, onViolated: () => void) {
    this.parts = parts;
    this.record = new NightRecord(parts.host, parts.keepsAll, onViolated);
    this.faults = new FiredFaults(parts.host, parts.instrument, this.record);
  }

  get nowMs(): number {
    return this.parts.host.nowMs;
  }

  /** The truth of the supply just now. */
  glance(): Glance {
    return this.parts.instrument.glance(this.parts.host.nowMs);
  }

  /** How much later things may be noticed on a slow supply. */
  get scale(): number {
    return Math.max(1, this.parts.cycleMs / 250);
  }

  /** Control as it is at this look. */
  look(there: Control | null): void {
    const { nowMs } = this.parts.host;
    if (there !== this.#lastControl) {
      this.#lastControl = there;
      this.controlSinceMs = nowMs;
    }
    const tank = there?.tank ?? null;
    this.#tankSinceMs = tank === null ? null : (this.#tankSinceMs ?? nowMs);
  }

  controlEnds(): void {
    this.#tankSinceMs = null;
  }

  /** Since when control has been there and awake, ms; null while it is not. */
  get undisturbedSinceMs(): number | null {
    const { host } = this.parts;
    if (this.#tankSinceMs === null || host.disturbedUntilMs > host.nowMs) return null;
    return Math.max(this.#tankSinceMs, host.disturbedUntilMs);
  }

  /** Control is there, awake, and has been for a while. */
  #undisturbed(forMs: number): boolean {
    const { host } = this.parts;
    return (
      host.nowMs - Math.max(host.disturbedUntilMs, this.controlSinceMs) > forMs &&
      this.#lastControl?.process.alive === true
    );
  }

  #standingOf(invariant: string, what: string): Standing {
    let ofInvariant = this.#standing.get(invariant);
    if (ofInvariant === undefined) this.#standing.set(invariant, (ofInvariant = new Map()));
    let standing = ofInvariant.get(what);
    if (standing === undefined) ofInvariant.set(what, (standing = { sinceMs: null }));
    return standing;
  }

  /** Reports a condition of the truth that has stood for longer than it may. */
  stands(invariant: string, what: string, holds: boolean, forMs: number): void {
    const { nowMs } = this.parts.host;
    const standing = this.#standingOf(invariant, what);
    if (!holds) {
      standing.sinceMs = null;
      return;
    }
    standing.sinceMs ??= nowMs;
    const stoodMs = nowMs - standing.sinceMs;
    if (stoodMs > forMs && this.#undisturbed(forMs)) {
      this.record.violated(invariant, `${what} for ${(stoodMs / 1000).toFixed(1)} s.`);
    }
  }

  /** From here on everything has only just come to stand. */
  standsAnew(): void {
    this.#standing.clear();
  }
}
