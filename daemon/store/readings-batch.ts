/** Readings on their way from the control loop to the database thread: packed, so that they are cheap to hand over. */

import { lifecycles } from '../run/model.ts';
import type { ReadingRow } from '../wire/run.ts';

/** A reading waits at most this long before it is handed over, which leaves 100 ms for the commit. */
export const batchMs = 400;
/** A batch is handed over early at this size, so that no transaction grows long. */
export const batchRows = 4096;
/** Readings on their way to the disk; at 4 Hz these are 80 minutes. */
export const queueRows = 20_000;

/** Numbers a reading takes: its run's place in `runIds`, seven figures, and its lifecycle's place. */
export const batchStride = 9;

export interface ReadingsBatch {
  readonly runIds: readonly string[];
  readonly figures: Float64Array<ArrayBuffer>;
}

const figureNames = [
  'atMs',
  'wallMs',
  'volts',
  'amps',
  'setAmps',
  'ampHours',
  'thicknessMicrometres',
] as const;

/** Collects readings until they are taken; the caller bounds how many. */
export class BatchPacker {
  readonly #firstSize: number;
  #figures: Float64Array<ArrayBuffer>;
  #runIds: string[] = [];
  #count = 0;

  constructor(firstSize = 64) {
    this.#firstSize = firstSize;
    this.#figures = new Float64Array(firstSize * batchStride);
  }

  get count(): number {
    return this.#count;
  }

  /** Adds a reading, or returns the sentence that says what is wrong with it and leaves it out. */
  add(runId: string, row: ReadingRow): string | null {
    const bad = figureNames.find((name) => !Number.isFinite(row[name]));
    if (bad !== undefined) {
      return `A reading of run ${runId} was refused: ${bad} is ${row[bad]} and must be a finite number.`;
    }
    const lifecycle = lifecycles.indexOf(row.lifecycle);
    if (lifecycle < 0) {
      return `A reading of run ${runId} was refused: its lifecycle "${row.lifecycle}" is unknown.`;
    }
    let run = this.#runIds.indexOf(runId);
    if (run < 0) run = this.#runIds.push(runId) - 1;
    const at = this.#count * batchStride;
    if (at === this.#figures.length) this.#grow();
    this.#figures[at] = run;
    figureNames.forEach((name, offset) => {
      this.#figures[at + 1 + offset] = row[name];
    });
    this.#figures[at + batchStride - 1] = lifecycle;
    this.#count += 1;
    return null;
  }

  /** Everything collected, and begins anew. */
  take(): ReadingsBatch {
    const batch = {
      runIds: this.#runIds,
      figures: this.#figures.slice(0, this.#count * batchStride),
    };
    this.#runIds = [];
    this.#count = 0;
    if (this.#figures.length > this.#firstSize * batchStride * 16) {
      this.#figures = new Float64Array(this.#firstSize * batchStride);
    }
    return batch;
  }

  #grow(): void {
    const larger = new Float64Array(this.#figures.length * 2);
    larger.set(this.#figures);
    this.#figures = larger;
  }
}
