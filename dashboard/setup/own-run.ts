/** The run that a page has started: whether it may still flow, and the word that stops it and no other. */

import type { TankSnapshot } from '../../daemon/wire/bench.ts';

type SeenRun = Pick<NonNullable<TankSnapshot['run']>, 'id' | 'outcome'>;

export class OwnRun {
  #tankId = '';
  #runId = '';
  #seen = false;
  #flows = false;

  get tankId(): string {
    return this.#tankId;
  }

  begun(tankId: string, runId: string): void {
    [this.#tankId, this.#runId, this.#seen, this.#flows] = [tankId, runId, false, runId !== ''];
  }

  isThis(run: SeenRun | null): boolean {
    return run !== null && this.#runId !== '' && run.id === this.#runId;
  }

  /** Looks at the run that is on its tank now. */
  see(run: SeenRun | null): void {
    if (this.isThis(run)) {
      this.#seen = true;
      if (run?.outcome !== null) this.#flows = false;
    } else if (this.#seen) {
      // The answer to the press may be there before the first word of its run; after that, another
      // run means that this one is over.
      this.#flows = false;
    }
  }

  /** Where a stop of this run is posted to, once; empty where nothing of it flows. */
  farewell(): string {
    if (!this.#flows) return '';
    this.#flows = false;
    const tank = encodeURIComponent(this.#tankId);
    return `/api/tanks/${tank}/stop?runId=${encodeURIComponent(this.#runId)}`;
  }
}
