/** Follows the tank's run from lifecycle to lifecycle. */

import type { ActiveRun } from '../../../daemon/control/snapshot.ts';
import type { Lifecycle } from '../../../daemon/run/model.ts';
import type { Evidence } from './evidence.ts';

/** Where the present run stands, and the edges that the runs of the night have gone along. */
export class Course {
  readonly edges = new Set<string>();
  /** When the present lifecycle began, ms. */
  sinceMs = 0;
  readonly #evidence: Evidence;
  #runId: string | null = null;
  #lifecycle: Lifecycle | null = null;

  constructor(evidence: Evidence) {
    this.#evidence = evidence;
  }

  /** How long the present lifecycle has lasted, ms. */
  get stoodMs(): number {
    return this.#evidence.nowMs - this.sinceMs;
  }

  /** Whether this is another run than at the last look. */
  isAnother({ record }: ActiveRun): boolean {
    return record.id !== this.#runId;
  }

  runCame({ record }: ActiveRun): void {
    this.#runId = record.id;
    this.#lifecycle = 'planned';
    this.sinceMs = this.#evidence.nowMs;
  }

  /** Whether the run has come to another lifecycle since the last look. */
  follow(lifecycle: Lifecycle): boolean {
    if (lifecycle === this.#lifecycle) return false;
    this.edges.add(`${this.#lifecycle ?? 'none'} > ${lifecycle}`);
    this.#evidence.record.note('run', `${this.#lifecycle ?? 'none'} > ${lifecycle}`);
    this.#lifecycle = lifecycle;
    this.sinceMs = this.#evidence.nowMs;
    return true;
  }
}
