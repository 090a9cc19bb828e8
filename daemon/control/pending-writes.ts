/** Writes that nobody waits for: followed to their end, tried again where the disk refused them. */

import { setTimeout as wait } from 'node:timers/promises';
import { StoreError } from '../store/door.ts';
import { RetryList } from './retry-list.ts';

/** At the end of the process a disk that hangs is waited for this long, ms. */
const settleWithinMs = 1_000;

/** The store itself found it wrong, and would refuse it for ever. */
export function isInvalid(error: unknown): boolean {
  return error instanceof StoreError && error.kind === 'invalid';
}

export class PendingWrites {
  readonly #open = new Set<Promise<unknown>>();
  readonly #refused = new RetryList();

  /** A failed write is answered by the store's own failure listener, which trips the run. */
  follow(write: Promise<unknown>): void {
    const settled = write.catch(() => undefined).finally(() => this.#open.delete(settled));
    this.#open.add(settled);
  }

  /** What the disk refused is kept; what the store itself found wrong would be refused for ever. */
  keep(error: unknown, key: string, write: () => void): void {
    if (isInvalid(error)) return;
    this.#refused.keep(key, write);
  }

  /** A later write stands for this one. */
  forget(key: string): void {
    this.#refused.forget(key);
  }

  /** At every turn of the loop: what the disk refused before is tried again now and then. */
  retry(nowMs: number): void {
    this.#refused.retry(nowMs);
  }

  /** Resolves once everything written so far has been answered by the store, or after a bounded wait. */
  async settled(): Promise<void> {
    const ended = new AbortController();
    const bound = wait(settleWithinMs, undefined, { signal: ended.signal }).catch(() => undefined);
    await Promise.race([Promise.allSettled(this.#open), bound]);
    ended.abort();
  }
}
