/** A clock that stands still while anything happens and jumps to the next sleeper when nothing does. */

import type { DriverClock } from '../../drivers/contract.ts';

export class VirtualClock implements DriverClock {
  #nowMs = 0;
  #sleepers: { dueMs: number; wake: () => void }[] = [];
  #scheduled = false;

  nowMs(): number {
    return this.#nowMs;
  }

  sleep(durationMs: number): Promise<void> {
    return new Promise((wake) => {
      this.#sleepers.push({ dueMs: this.#nowMs + Math.max(0, durationMs), wake });
      this.#schedule();
    });
  }

  #schedule(): void {
    if (this.#scheduled) return;
    this.#scheduled = true;
    // All promises that can settle now do so before the next immediate.
    setImmediate(() => {
      this.#scheduled = false;
      let next = this.#sleepers[0];
      for (const sleeper of this.#sleepers) {
        if (next === undefined || sleeper.dueMs < next.dueMs) next = sleeper;
      }
      if (next === undefined) return;
      this.#sleepers = this.#sleepers.filter((sleeper) => sleeper !== next);
      this.#nowMs = Math.max(this.#nowMs, next.dueMs);
      next.wake();
      if (this.#sleepers.length > 0) this.#schedule();
    });
  }
}
