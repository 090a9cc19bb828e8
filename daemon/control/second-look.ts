/** Reads the supply, and asks once more in the same turn where the first answer is hard to believe. */

import { RectifierError, type RectifierReading } from '../../drivers/contract.ts';
import { doubtOf, type Doubt } from '../run/second-look.ts';
import type { RunState } from '../run/state.ts';
import type { TankClock } from './clock.ts';
import type { OutputView } from './output-view.ts';
import type { StrayOutput } from './stray-output.ts';
import type { SupplyLink } from './supply-link.ts';

export class SecondLook {
  readonly #link: SupplyLink;
  readonly #view: OutputView;
  readonly #stray: StrayOutput;
  readonly #clock: TankClock;

  constructor(link: SupplyLink, view: OutputView, stray: StrayOutput, clock: TankClock) {
    this.#link = link;
    this.#view = view;
    this.#stray = stray;
    this.#clock = clock;
  }

  /**
   * The reading to judge and count: the first where nothing speaks against it, else the second.
   * What asking clears (a restart) and what the second did not read (set-points) is kept of the
   * first. Where no second answer comes, a first that would end the run is believed, for off is
   * easy; a mere jump is not.
   */
  async read(run: RunState | null): Promise<RectifierReading> {
    const first = await this.#link.read();
    const doubt = this.#doubtOf(first, run);
    if (doubt === null) return first;
    try {
      const second = await this.#link.read(first.setVolts !== null || first.setAmps !== null);
      return {
        ...second,
        restarted: first.restarted || second.restarted,
        setVolts: second.setVolts ?? first.setVolts,
        setAmps: second.setAmps ?? first.setAmps,
      };
    } catch (error) {
      const overtaken = error instanceof RectifierError && error.kind === 'preempted';
      if (overtaken || doubt === 'jump') throw error;
      this.#link.note(error);
      return first;
    }
  }

  #doubtOf(reading: RectifierReading, run: RunState | null): Doubt | null {
    const live = this.#view.wouldBeLive(reading.outputOn, reading.amps);
    if (run !== null) return doubtOf(run, { ...reading, atMs: this.#clock.nowMs(), live });
    return this.#stray.isNews(live) ? 'alarm' : null;
  }
}
