/** What the board of a tank asks of whoever wants to arm. */

import type { Alarm } from '../../daemon/wire/run.ts';

/** Not acknowledged, it keeps the tank from a new run: a run was stopped, or what stopped it may be lost. */
export function holdsBack({ priority, code }: Alarm): boolean {
  return priority === 'stopped' || code === 'databaseDamaged';
}
