/** The question that a draft comes to on a tank, and when its answer has grown too old to act on. */

import type { Bath } from '../daemon/chemistry/model.ts';
import type { TankSnapshot } from '../daemon/wire/bench.ts';
import { solvedForRest } from './plan-clock.ts';
import type { Draft } from './plan-draft.ts';
import { placeNow, requestOf } from './plan-request.ts';

/** A density solved for a time of day is for a start within this long, ms. */
const freshMs = 60_000;

/** A hurried tank has a clock of its own, and that is the one its run will end on. */
export function questionOf(
  draft: Draft,
  tank: TankSnapshot | null,
  bath: Bath | undefined,
): ReturnType<typeof requestOf> {
  const asked = requestOf(draft, placeNow(tank?.wallMs));
  const { target } = asked.request;
  const { continues } = draft;
  const byClock = target.kind === 'done-by' && continues !== null && asked.problems.length === 0;
  if (!byClock || !tank || !bath) return asked;
  try {
    return solvedForRest(asked.request, target, continues.ampHours, bath, tank.facts);
  } catch {
    // A piece that is impossible has nothing to solve; the daemon says what is wrong with it.
    return asked;
  }
}

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
