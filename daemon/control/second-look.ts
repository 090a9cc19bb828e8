/** Reads the supply, and asks again in the same turn where an answer is hard to believe. */

import { RectifierError, type RectifierReading } from '../../drivers/contract.ts';
import type { RunReading } from '../run/model.ts';
import { tryReading, type Doubt } from '../run/second-look.ts';
import type { RunState } from '../run/state.ts';
import type { Step } from '../run/steps.ts';
import type { TankClock } from './clock.ts';
import type { OutputView } from './output-view.ts';
import type { StrayOutput } from './stray-output.ts';
import type { SupplyLink } from './supply-link.ts';

/** A reading that was tried on a run, and what the machine answered. */
interface Tried {
  readonly run: RunState;
  readonly judged: RunReading;
  readonly outcome: Step;
}

export class SecondLook {
  readonly #link: SupplyLink;
  readonly #view: OutputView;
  readonly #stray: StrayOutput;
  readonly #clock: TankClock;
  #tried: Tried | null = null;

  constructor(link: SupplyLink, view: OutputView, stray: StrayOutput, clock: TankClock) {
    this.#link = link;
    this.#view = view;
    this.#stray = stray;
    this.#clock = clock;
  }

  /**
   * The reading to judge and count: the first where nothing speaks against it, else the one after. A
   * jump is asked after once; what would call a person has to be read twice, so that an answer that
   * comes to it only after a jump is asked after as well.
   */
  async read(run: RunState | null): Promise<RectifierReading> {
    const first = await this.#link.read();
    const doubt = this.#doubtOf(first, run);
    if (doubt === null) return first;
    const second = await this.#after(first, doubt);
    if (doubt === 'alarm' || this.#doubtOf(second, run) !== 'alarm') return second;
    return this.#after(second, 'alarm');
  }

  /**
   * Asks once more. What asking clears (a restart) and what is not read again (set-points) is kept of
   * the answer before. Where no other one comes, one that would end the run is believed, for off is
   * easy; a mere jump is not.
   */
  async #after(before: RectifierReading, doubt: Doubt): Promise<RectifierReading> {
    this.#tried = null;
    try {
      const next = await this.#link.read(before.setVolts !== null || before.setAmps !== null);
      return {
        ...next,
        restarted: before.restarted || next.restarted,
        setVolts: next.setVolts ?? before.setVolts,
        setAmps: next.setAmps ?? before.setAmps,
      };
    } catch (error) {
      const overtaken = error instanceof RectifierError && error.kind === 'preempted';
      if (overtaken || doubt === 'jump') throw error;
      this.#link.note(error);
      return before;
    }
  }

  /** What the reading that `read` gave does to a run: tried already, unless something came in between. */
  answer(run: RunState, reading: RectifierReading, live: boolean): Tried {
    const tried = this.#tried;
    if (tried?.run === run && tried.judged.live === live) return tried;
    const judged = judgedReading(reading, this.#clock.nowMs(), live);
    return { run, judged, outcome: tryReading(run, judged).outcome };
  }

  #doubtOf(reading: RectifierReading, run: RunState | null): Doubt | null {
    this.#tried = null;
    const live = this.#view.wouldBeLive(reading.outputOn, reading.amps);
    if (run === null) return this.#stray.isNews(live) ? 'alarm' : null;
    const judged = judgedReading(reading, this.#clock.nowMs(), live);
    const { outcome, doubt } = tryReading(run, judged);
    this.#tried = { run, judged, outcome };
    return doubt;
  }
}

/** A reading as the run judges it. Fields written out: a spread with new keys costs more than all else. */
function judgedReading(reading: RectifierReading, atMs: number, live: boolean): RunReading {
  return {
    atMs,
    volts: reading.volts,
    amps: reading.amps,
    outputOn: reading.outputOn,
    live,
    regulation: reading.regulation,
    supplyTrips: reading.supplyTrips,
    setVolts: reading.setVolts,
    setAmps: reading.setAmps,
    restarted: reading.restarted,
  };
}
