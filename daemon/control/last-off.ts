/** OFF at the end of the process: tried a few times, and a person is called while there is somebody to tell. */

import { faultOf } from '../run/faults.ts';
import type { Tank } from './tank.ts';

/** Tried this often before it is reported as unconfirmed. */
const attempts = 5;
/** Unconfirmed for this long a person is called, though an attempt still goes on, ms. */
const callAfterMs = 2_500;

/** True once the supply has confirmed it. */
export async function lastOff(tank: Tank, switchOff: () => Promise<boolean>): Promise<boolean> {
  let isCalled = false;
  const call = (): void => {
    if (isCalled) return;
    isCalled = true;
    const found = 'Nightbath is ending; OFF was sent, and the supply does not confirm it.';
    tank.journal.alarm(tank.run, faultOf('offUnconfirmed', tank.clock.nowMs(), found), 'stopped');
  };
  const timer = setTimeout(call, callAfterMs);
  try {
    for (let attempt = 1; attempt <= attempts; attempt += 1) {
      if (await switchOff()) return true;
    }
    call();
    return false;
  } finally {
    clearTimeout(timer);
  }
}
