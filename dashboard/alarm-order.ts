/** Which alarms stand, and which of them is told first. */

import type { Alarm } from '../daemon/wire/run.ts';

const order: readonly Alarm['priority'][] = ['stopped', 'act-soon', 'note'];

const graver = (a: Alarm, b: Alarm): number =>
  order.indexOf(a.priority) - order.indexOf(b.priority) || a.wallMs - b.wallMs || a.id - b.id;

/** Acknowledged alarms whose cause goes on, in the same order: shown, and no more called out. */
export function goingOn(alarms: readonly Alarm[]): readonly Alarm[] {
  return alarms
    .filter(
      ({ acknowledgedWallMs, clearedWallMs }) =>
        acknowledgedWallMs !== null && clearedWallMs === null,
    )
    .toSorted(graver);
}

/** Unacknowledged alarms of a bench: the gravest first, and of equals the earliest. */
export function standing(alarms: readonly Alarm[]): readonly Alarm[] {
  return alarms.filter(({ acknowledgedWallMs }) => acknowledgedWallMs === null).toSorted(graver);
}
