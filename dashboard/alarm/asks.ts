/** What asks for a person right now, the gravest first: alarms, a piece to turn, a bench out of reach. */

import type { LiveRun, TankSnapshot } from '../../daemon/wire/bench.ts';
import type { AlarmPriority } from '../../daemon/run/model.ts';
import { standing } from '../alarm-order.ts';
import { list } from '../format.ts';
import type { Sound } from './pattern.ts';
import { isFree } from '../tank-lines.ts';
import { alarmWords } from '#words/alarm';

export interface Ask {
  /** One thing asks once: the same key is the same thing. */
  readonly key: string;
  readonly sound: Sound;
  readonly tank: string;
  readonly text: string;
}

/** A bench that is out of reach while current may flow is told of after this time, ms. */
export const awayAfterMs = 120_000;

const order: readonly Sound[] = ['stopped', 'act-soon', 'away', 'note'];

function alarmsOf({ name, alarms }: TankSnapshot): Ask[] {
  return standing(alarms).map(({ id, priority, found }) => ({
    // Before the disk has an alarm its id is below zero, and changes once.
    key: `alarm-${id < 0 ? found : id}`,
    sound: priority satisfies AlarmPriority,
    tank: name,
    text: found,
  }));
}

/** The run of a tank whose piece is to be turned now; null where none is. One that is over has no turns. */
export function dueRun(tank: TankSnapshot): LiveRun | null {
  const { run } = tank;
  return run?.turning?.isDue === true && !isFree(tank) ? run : null;
}

/** Which turn of which run it is; each one asks anew. */
export function turnKey({ id, turning }: LiveRun): string {
  return `turn-${id}-${(turning?.done ?? 0) + (turning?.missed ?? 0)}`;
}

/** A piece that is to be turned asks like a note, once for each time that it is due. */
function turnOf(tank: TankSnapshot): Ask[] {
  const { name } = tank;
  const run = dueRun(tank);
  if (run === null) return [];
  return [{ key: turnKey(run), sound: 'note', tank: name, text: alarmWords.turn }];
}

/**
 * `silentMs` is how long nothing was heard of the bench; 0 while the page is live. An output that was
 * off when it was last heard of is nothing to wake anybody for.
 */
export function asksOf(tanks: readonly TankSnapshot[], silentMs: number): readonly Ask[] {
  const asks = tanks.flatMap((tank) => [...alarmsOf(tank), ...turnOf(tank)]);
  const on = tanks.filter(({ output }) => output !== 'confirmedOff');
  if (silentMs >= awayAfterMs && on.length > 0) {
    const tank = list(on.map(({ name }) => name));
    asks.push({ key: 'away', sound: 'away', tank, text: alarmWords.away });
  }
  return asks.toSorted((a, b) => order.indexOf(a.sound) - order.indexOf(b.sound));
}
