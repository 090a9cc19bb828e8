/** What the supply's meters show: the truth with noise, steps and, when a fault says so, worse. */

import type { FaultSwitches } from './faults.ts';
import type { MeterOptions } from './model.ts';
import type { RandomStream } from './random.ts';

/** A shown number, or the text that stands in its place. */
export type Shown = number | string;

export class Meter {
  readonly #options: MeterOptions;
  readonly #random: RandomStream;
  readonly #faults: FaultSwitches;
  #stuckVolts: number | null = null;
  #stuckAmps: number | null = null;
  #driftSinceMs = 0;

  constructor(options: MeterOptions, random: RandomStream, faults: FaultSwitches) {
    this.#options = options;
    this.#random = random;
    this.#faults = faults;
    faults.listen((name, on, nowMs) => {
      if (name === 'driftingMeter' && on) this.#driftSinceMs = nowMs;
      if (name === 'stuckReading') this.#stuckVolts = this.#stuckAmps = null;
    });
  }

  volts(trueVolts: number, nowMs: number): Shown {
    const bad = this.#faults.get('badReading');
    if (bad !== undefined) return bad.text;
    const drift = this.#faults.get('driftingMeter')?.voltsSharePerHour ?? 0;
    const { noiseVolts, stepVolts } = this.#options;
    const shown = this.#show(trueVolts, drift, noiseVolts, stepVolts, nowMs);
    if (!this.#faults.has('stuckReading')) return shown;
    this.#stuckVolts ??= shown;
    return this.#stuckVolts;
  }

  amps(trueAmps: number, nowMs: number): Shown {
    const bad = this.#faults.get('badReading');
    if (bad !== undefined) return bad.text;
    const drift = this.#faults.get('driftingMeter')?.ampsSharePerHour ?? 0;
    const { noiseAmps, stepAmps } = this.#options;
    const error = this.#faults.get('meterError')?.ampsShare ?? 0;
    const shown = this.#show(trueAmps * (1 + error), drift, noiseAmps, stepAmps, nowMs);
    if (!this.#faults.has('stuckReading')) return shown;
    this.#stuckAmps ??= shown;
    return this.#stuckAmps;
  }

  #show(value: number, drift: number, noise: number, step: number, nowMs: number): number {
    const hours = (nowMs - this.#driftSinceMs) / 3.6e6;
    const seen = value * (1 + drift * hours) + (noise > 0 ? noise * this.#random.normal() : 0);
    // A bench meter of this kind shows no sign: what is below zero reads as zero.
    return Math.max(0, Math.round(seen / step)) * step;
  }
}
