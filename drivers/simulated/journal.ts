/** What really happened to the simulated supply, kept within bounds, for its truth. */

import {
  keptCommands,
  type OutputChange,
  type ReceivedCommand,
  type SupplyWitness,
} from './model.ts';

/** A list that forgets its oldest entries once it holds more than `keptCommands`. */
class RecentList<Item> {
  #items: Item[] = [];

  push(item: Item): void {
    this.#items.push(item);
    if (this.#items.length >= 2 * keptCommands) this.#items = this.#items.slice(-keptCommands);
  }

  list(): readonly Item[] {
    return this.#items.slice(-keptCommands);
  }
}

export class Journal {
  readonly #received = new RecentList<ReceivedCommand>();
  readonly #receivedSets = new RecentList<ReceivedCommand>();
  readonly #outputChanges = new RecentList<OutputChange>();
  receivedCount = 0;
  offsReceived = 0;
  onsReceived = 0;
  lastOffMs: number | null = null;
  highestSetVolts = 0;
  highestSetAmps = 0;
  restarts = 0;
  readonly #witness: SupplyWitness | undefined;

  constructor(witness?: SupplyWitness) {
    this.#witness = witness;
  }

  /** A whole command arrived; understood or not. */
  command(text: string, atMs: number): void {
    const entry = { atMs, text };
    this.receivedCount += 1;
    this.#received.push(entry);
    if (text.split(';').every((unit) => unit.includes('?'))) return;
    this.#receivedSets.push(entry);
    this.#witness?.told(text, atMs);
  }

  off(atMs: number): void {
    this.offsReceived += 1;
    this.lastOffMs = atMs;
    this.#witness?.switched(false, atMs);
  }

  on(atMs: number): void {
    this.onsReceived += 1;
    this.#witness?.switched(true, atMs);
  }

  accepted(volts: number, amps: number): void {
    this.highestSetVolts = Math.max(this.highestSetVolts, volts);
    this.highestSetAmps = Math.max(this.highestSetAmps, amps);
  }

  output(change: OutputChange): void {
    this.#outputChanges.push(change);
    this.#witness?.output(change);
  }

  get received(): readonly ReceivedCommand[] {
    return this.#received.list();
  }
  get receivedSets(): readonly ReceivedCommand[] {
    return this.#receivedSets.list();
  }
  get outputChanges(): readonly OutputChange[] {
    return this.#outputChanges.list();
  }
}
