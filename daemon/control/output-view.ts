/** What is known of an output while no run answers for it, and since when the present word stands. */

import type { OutputBelief } from '../run/model.ts';
import type { TankClock } from './clock.ts';

export class OutputView {
  readonly #clock: TankClock;
  #idle: OutputBelief = 'unknown';
  #shown: OutputBelief = 'unknown';
  #sinceWallMs: number;

  constructor(clock: TankClock) {
    this.#clock = clock;
    this.#sinceWallMs = clock.wallMs();
  }

  /** The word without a run. */
  get idle(): OutputBelief {
    return this.#idle;
  }

  set idle(belief: OutputBelief) {
    this.#idle = belief;
  }

  get sinceWallMs(): number {
    return this.#sinceWallMs;
  }

  /** The supply's own word; where it has none, the current has. */
  believe(outputOn: boolean | null, amps: number, quietAmps: number): void {
    const on = outputOn ?? Math.abs(amps) > quietAmps;
    this.#idle = on ? 'on' : 'confirmedOff';
  }

  /** Takes note of what is shown now; a change restarts its time. */
  show(output: OutputBelief): void {
    if (output === this.#shown) return;
    this.#shown = output;
    this.#sinceWallMs = this.#clock.wallMs();
  }
}
