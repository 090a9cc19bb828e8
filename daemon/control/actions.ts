/** What the run asked of the supply, in order; an OFF voids everything that was asked before it. */

import type { RunEffect } from '../run/model.ts';

type Asked = Extract<RunEffect, { kind: 'program' | 'switch-on' }>;
export type Action = Asked & { readonly epoch: number };

export class ActionQueue {
  #waiting: Action[] = [];
  #epoch = 0;

  get epoch(): number {
    return this.#epoch;
  }

  push(action: Action): void {
    this.#waiting.push(action);
  }

  /** An OFF was sent: nothing that was asked for before it may reach the supply after it. */
  cancel(): void {
    this.#epoch += 1;
    this.#waiting = [];
  }

  next(): Action | null {
    const action = this.#waiting.shift() ?? null;
    return action !== null && action.epoch === this.#epoch ? action : null;
  }
}
