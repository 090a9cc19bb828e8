/** One request at a time, and a way to overtake them all. */

import { RectifierError } from '../contract.ts';

/** Held by a task; says whether the task may still touch the line. */
export interface Ticket {
  /** Throws `preempted` once the task has been overtaken. Called before each write. */
  check(): void;
  /** No wait for a reply lasts beyond this moment of the clock, ms. */
  readonly limitMs: number;
}

/** The same right to the line, with an earlier end to every wait. */
export function within(ticket: Ticket, limitMs: number): Ticket {
  return { check: () => ticket.check(), limitMs: Math.min(ticket.limitMs, limitMs) };
}

function preempted(): RectifierError {
  return new RectifierError('preempted', 'The request gave way to OFF.');
}

export class Lane {
  #generation = 0;
  #tail: Promise<unknown> = Promise.resolve();

  /** Runs `task` when all before it have ended; rejects with `preempted` when overtaken. */
  run<T>(task: (ticket: Ticket) => Promise<T>): Promise<T> {
    const generation = this.#generation;
    const turn = this.#tail;
    const result = (async () => {
      await turn;
      if (generation !== this.#generation) throw preempted();
      return task(this.#ticket(generation));
    })();
    this.#tail = result.catch(() => undefined);
    return result;
  }

  /**
   * Takes the line at once: `task` runs its first step before this returns, all tasks before it are
   * void, and tasks that come later wait for it.
   */
  overtake<T>(task: (ticket: Ticket) => Promise<T>): Promise<T> {
    this.#generation += 1;
    const result = task(this.#ticket(this.#generation));
    this.#tail = result.catch(() => undefined);
    return result;
  }

  #ticket(generation: number): Ticket {
    return {
      limitMs: Number.POSITIVE_INFINITY,
      check: () => {
        if (generation !== this.#generation) throw preempted();
      },
    };
  }
}
