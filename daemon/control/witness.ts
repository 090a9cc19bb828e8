/** Writes into a run's events who asked for what; starts, stops and ends tell it in events of their own. */

import { isFinal } from '../run/state.ts';
import type { Command, CommandAnswer } from '../wire/command.ts';
import type { Tank } from './tank.ts';

const done: Readonly<Partial<Record<Command['kind'], string>>> = {
  arm: 'Armed',
  disarm: 'Disarmed',
  lift: 'Lifted',
  'put-back': 'Put back',
  demo: 'Demo night asked for',
  probe: 'Short check asked for',
};

/** After a command: what was done, on the run that is on the tank. A refused one has done nothing. */
export function witness(tank: Tank, command: Command, answer: CommandAnswer): void {
  const what = done[command.kind];
  if (what === undefined || !answer.ok || !('by' in command)) return;
  const atMs = tank.clock.nowMs();
  tank.journal.event(tank.run, { atMs, code: 'askedBy', message: `${what} by ${command.by}.` });
}

/** Who came in or was kept out while a run is under way stands among its events. */
export function witnessAccess(tanks: Iterable<Tank>, message: string): void {
  for (const tank of tanks) {
    if (tank.run === null || isFinal(tank.run.state.lifecycle)) continue;
    tank.journal.event(tank.run, { atMs: tank.clock.nowMs(), code: 'access', message });
  }
}
