/** What is known of an output while no run answers for it, and since when the present word stands. */

import type { OutputBelief } from '../run/model.ts';
import type { TankClock } from './clock.ts';

/** A measured current counts as a live output from this many readings in a row on. */
const flowingReadings = 2;

export class OutputView {
  readonly #clock: TankClock;
  /** A measured current below this counts as none, A. */
  readonly #offAmps: number;
  #idle: OutputBelief = 'unknown';
  #shown: OutputBelief = 'unknown';
  #sinceWallMs: number;
  #flowing = 0;

  constructor(clock: TankClock, offAmps: number) {
    this.#clock = clock;
    this.#offAmps = offAmps;
    this.#sinceWallMs = clock.wallMs();
  }

  /** The word without a run. */
  get idle(): OutputBelief {
    return this.#idle;
  }

  /** The word of an OFF report. */
  set idle(belief: OutputBelief) {
    this.#idle = belief;
    // What flowed before a confirmed OFF says nothing about the readings after it.
    if (belief === 'confirmedOff') this.#flowing = 0;
  }

  get sinceWallMs(): number {
    return this.#sinceWallMs;
  }

  /**
   * A supply that says on is believed; one that says off is not while current flows. Answers whether
   * the output counts as live: one reading of current alone may still be noise.
   */
  believe(outputOn: boolean | null, amps: number): boolean {
    const live = this.wouldBeLive(outputOn, amps);
    this.#flowing = this.#flowingWith(amps);
    this.#idle = outputOn === true || this.#flowing > 0 ? 'on' : 'confirmedOff';
    return live;
  }

  /** What `believe` would answer, without believing it. */
  wouldBeLive(outputOn: boolean | null, amps: number): boolean {
    return outputOn === true || this.#flowingWith(amps) >= flowingReadings;
  }

  /** Readings in a row with current, this one among them. A reversed current is a current. */
  #flowingWith(amps: number): number {
    return Math.abs(amps) >= this.#offAmps ? this.#flowing + 1 : 0;
  }

  /** Takes note of what is shown now; a change restarts its time. */
  show(output: OutputBelief): void {
    if (output === this.#shown) return;
    this.#shown = output;
    this.#sinceWallMs = this.#clock.wallMs();
  }
}
