/** Writes that the disk refused, tried again until it takes them. */

/** A night without a disk must not fill the memory. */
const mostWrites = 2_000;
/** Between two rounds of trying, ms. */
const pauseMs = 5_000;

export class RetryList {
  readonly #writes = new Map<string, () => void>();
  #triedAtMs = -Infinity;

  /** A later write under the same key takes the place of an earlier one; what is too much is left out. */
  keep(key: string, write: () => void): void {
    if (this.#writes.size >= mostWrites && !this.#writes.has(key)) return;
    this.#writes.set(key, write);
  }

  /** It was written after all, by another way. */
  forget(key: string): void {
    this.#writes.delete(key);
  }

  /** Called at every turn of the loop; a write that fails again is kept again by whoever made it. */
  retry(nowMs: number): void {
    if (this.#writes.size === 0 || nowMs - this.#triedAtMs < pauseMs) return;
    this.#triedAtMs = nowMs;
    const due = [...this.#writes.values()];
    this.#writes.clear();
    for (const write of due) write();
  }
}
