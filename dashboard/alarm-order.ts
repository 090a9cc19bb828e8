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

/** Of many, this many are listed under the first; the Alerts page has them all. */
export const mostFollowers = 4;

/** Unacknowledged alarms of a bench: the gravest first, and of equals the earliest. */
export function standing(alarms: readonly Alarm[]): readonly Alarm[] {
  return alarms.filter(({ acknowledgedWallMs }) => acknowledgedWallMs === null).toSorted(graver);
}

/** What the banner tells of the tank that it names: the first cause, and what followed it there. */
export function toldInBanner(alarms: readonly Alarm[]): readonly Alarm[] {
  const shown = standing(alarms).slice(0, 1 + mostFollowers);
  return shown.filter(({ tankId }) => tankId === shown[0]?.tankId);
}
