/** What probes came to, as the checks need it: the latest circuit of a tank, the latest drill of a supply. */

import type { ContinuityResult, DrillResult } from '../run/checks/model.ts';
import { tooCoarseForShort } from '../run/watch/short-circuit.ts';
import type { StoreWriter } from '../store/door.ts';
import type { ProbeResult } from '../wire/probe.ts';
import { RetryList } from './retry-list.ts';
import type { Tank } from './tank.ts';

/**
 * Who the supply on a tank says it is, without its firmware; empty before it was heard. One that tells
 * no serial number is known by its tank: two of a model are two supplies.
 */
export function supplyOf(tank: Tank): string {
  const { identity } = tank.link;
  if (identity === null) return '';
  const named = [identity.maker, identity.model, identity.serial].filter((part) => part !== '');
  const name = named.length === 0 ? identity.text : named.join(', ');
  return identity.serial === '' ? `${name}, on ${tank.id}` : name;
}

export class ProbeBook {
  readonly #store: StoreWriter;
  readonly #circuits = new Map<string, ProbeResult>();
  readonly #drills = new Map<string, ProbeResult>();
  readonly #refused = new RetryList();
  #newestRecordWallMs: number | null = null;

  constructor(store: StoreWriter) {
    this.#store = store;
  }

  /** What earlier processes have found; nothing where the log cannot be read. */
  async load(): Promise<void> {
    try {
      for (const result of await this.#store.probes.latest()) this.#keep(result);
      this.#newestRecordWallMs = await this.#store.probes.newestRecordWallMs();
    } catch {
      // The checks then ask for what is missing, and the bench comes up to switch off.
    }
  }

  /** The latest wall time of a real run when this process started; null in an empty log. */
  get newestRecordWallMs(): number | null {
    return this.#newestRecordWallMs;
  }

  /** Counts at once; on disk as soon as the disk takes it. */
  take(result: ProbeResult): void {
    this.#keep(result);
    this.#write(result);
  }

  /** What the disk refused is tried again now and then. */
  retry(nowMs: number): void {
    this.#refused.retry(nowMs);
  }

  /** `stepVolts` is the step in which the supply's meter shows its voltage. */
  continuity(tankId: string, stepVolts = 0): ContinuityResult | null {
    const found = this.#circuits.get(tankId);
    if (found === undefined) return null;
    const { verdict, wallMs, sentence, amps } = found;
    const coarse = tooCoarseForShort(amps, stepVolts);
    return verdict === 'closed' || verdict === 'open' || verdict === 'shorted'
      ? { verdict, wallMs, sentence, coarse }
      : null;
  }

  drill(supply: string): DrillResult | null {
    const found = this.#drills.get(supply);
    if (found === undefined) return null;
    return {
      passed: found.verdict === 'passed',
      wallMs: found.wallMs,
      sentence: found.sentence,
    };
  }

  #keep(result: ProbeResult): void {
    if (result.kind === 'continuity') this.#circuits.set(result.tankId, result);
    else this.#drills.set(result.supply, result);
  }

  #write(result: ProbeResult): void {
    this.#store.probes
      .record(result)
      .catch(() => this.#refused.keep(result.runId, () => this.#write(result)));
  }
}
