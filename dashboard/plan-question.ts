/** When the answer to a question has grown too old to act on. */

import type { Draft } from './plan-draft.ts';

/** A density solved for a time of day is for a start within this long, ms. */
const freshMs = 60_000;

/** A moment by the clock of the page and by that of the tank, which may run at another pace, ms. */
export interface Moment {
  readonly pageMs: number;
  readonly tankMs: number;
}

export const neverAsked: Moment = { pageMs: -Infinity, tankMs: -Infinity };

/** Whether an answer has to be asked for anew before it is acted on: it was for an earlier start. */
export function isAged({ pace }: Pick<Draft, 'pace'>, asked: Moment, now: Moment): boolean {
  const fresh = (from: number, to: number): boolean => Math.abs(to - from) <= freshMs;
  const both = fresh(asked.pageMs, now.pageMs) && fresh(asked.tankMs, now.tankMs);
  return pace === 'done-by' && !both;
}
