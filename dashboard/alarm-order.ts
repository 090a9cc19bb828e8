/** Which alarms stand, and which of them is told first. */

import type { Alarm } from '../daemon/wire/run.ts';

const order: readonly Alarm['priority'][] = ['stopped', 'act-soon', 'note'];

/** Unacknowledged alarms of a bench: the gravest first, and of equals the earliest. */
export function standing(alarms: readonly Alarm[]): readonly Alarm[] {
  return alarms
    .filter(({ acknowledgedWallMs }) => acknowledgedWallMs === null)
    .toSorted(
      (a, b) =>
        order.indexOf(a.priority) - order.indexOf(b.priority) || a.wallMs - b.wallMs || a.id - b.id,
    );
}
