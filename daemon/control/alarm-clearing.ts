/** Sees that what an alarm is about has ended: by the same signs that brought it up, and for long enough. */

import type { FaultCode } from '../run/model.ts';
import { isFinal } from '../run/state.ts';
import type { LiveSensor } from '../wire/sensors.ts';
import type { Alarm } from '../wire/run.ts';
import type { Tank } from './tank.ts';

/**
 * What shows that it is over. `off`: the output is read back as off, and nothing flows that it could be
 * about. `word`: nothing here can see it, and whoever acknowledges it has looked.
 */
type Sign = 'off' | 'answer' | 'trip' | 'log' | 'sensor' | 'word';

const signs: Readonly<Record<FaultCode, Sign>> = {
  overCurrent: 'off',
  overVoltage: 'off',
  openCircuit: 'off',
  shortCircuit: 'off',
  notFollowing: 'off',
  noCharge: 'off',
  setPointChanged: 'off',
  outputFoundOff: 'off',
  outputFoundOn: 'off',
  supplyRestarted: 'off',
  supplyTripped: 'trip',
  stuckReading: 'off',
  silence: 'answer',
  tooLong: 'off',
  tooMuchCharge: 'off',
  clockGap: 'off',
  programRefused: 'off',
  outputRefused: 'off',
  wrongDevice: 'answer',
  controlLost: 'word',
  databaseLost: 'log',
  databaseDamaged: 'word',
  sentinelLost: 'word',
  offUnconfirmed: 'off',
  paintNotCovering: 'off',
  bathTooWarm: 'sensor',
  bathTooCold: 'sensor',
  levelTooLow: 'sensor',
  levelTooHigh: 'sensor',
  sensorMissing: 'sensor',
};

/** A line that falls silent and answers by turns is not over each time, ms. */
const holdMs = 3_000;
/** A sensor takes ten seconds to be found beyond a limit; one that was just started is not yet well. */
const sensorHoldMs = 15_000;
/** A reading that is older shows nothing of now, ms; on a slow supply two of its cycles. */
const freshMs = 2_000;

const signsByCode: ReadonlyMap<string, Sign> = new Map(Object.entries(signs));

/** An alarm read back from disk may be of a kind that this version does not know. */
function signOf(code: string): Sign {
  return signsByCode.get(code) ?? 'word';
}

/** True where the end of what it is about can be seen from here. */
export function isWatched(code: string): boolean {
  return signOf(code) !== 'word';
}

/** The part of a tank that is looked at. */
export type ClearedTank = Pick<
  Tank,
  | 'alarms'
  | 'clock'
  | 'cycleMs'
  | 'id'
  | 'journal'
  | 'lastReading'
  | 'link'
  | 'output'
  | 'run'
  | 'sensors'
>;

export class AlarmClearing {
  readonly #tank: ClearedTank;
  readonly #logFails: () => boolean;
  /** Since when each alarm has shown no sign any more, by its moment: ids change when the disk has it. */
  #quietSince = new Map<string, number>();
  #reading: unknown = null;
  #readAtMs = -Infinity;

  constructor(tank: ClearedTank, logFails: () => boolean) {
    this.#tank = tank;
    this.#logFails = logFails;
  }

  /** At every turn of the loop. */
  look(): void {
    const { alarms, clock, journal, lastReading } = this.#tank;
    const nowMs = clock.nowMs();
    if (lastReading !== this.#reading) {
      this.#reading = lastReading;
      this.#readAtMs = nowMs;
    }
    const going = [...alarms.standing, ...alarms.quiet].filter((one) => one.clearedWallMs === null);
    const since = new Map<string, number>();
    for (const alarm of going) {
      if (this.#isOfEarlier(alarm)) {
        journal.clear(alarm);
        continue;
      }
      if (!this.#isOver(alarm, nowMs)) continue;
      const key = keyOf(alarm);
      const sinceMs = this.#quietSince.get(key) ?? nowMs;
      const patienceMs = signOf(alarm.code) === 'sensor' ? sensorHoldMs : holdMs;
      if (nowMs - sinceMs >= patienceMs) journal.clear(alarm);
      else since.set(key, sinceMs);
    }
    this.#quietSince = since;
  }

  /**
   * A run has begun since: no output goes on before it was found off and its protections reset, so what
   * could be seen by that was over then, also where the run began before it had been so for a while.
   */
  #isOfEarlier({ code, runId, tankId, wallMs }: Alarm): boolean {
    const { id, run } = this.#tank;
    const sign = signOf(code);
    if (tankId !== id || (sign !== 'off' && sign !== 'trip')) return false;
    if (run === null || run.startedWallMs === null || isFinal(run.state.lifecycle)) return false;
    return runId !== run.record.id && wallMs < run.startedWallMs;
  }

  #isOver(alarm: Alarm, nowMs: number): boolean {
    const { id, output, lastReading } = this.#tank;
    const sign = signOf(alarm.code);
    // Of a tank that has left the settings: but for the log of all, this one tells nothing of it.
    if (alarm.tankId !== id && sign !== 'log') return false;
    switch (sign) {
      case 'off':
        return this.#answers(nowMs) && output === 'confirmedOff';
      case 'answer':
        return this.#answers(nowMs);
      case 'trip':
        return (
          this.#answers(nowMs) &&
          output === 'confirmedOff' &&
          lastReading?.reading.supplyTrips.length === 0
        );
      case 'log':
        return !this.#logFails();
      case 'sensor':
        return isWell(alarm, this.#tank.sensors.picture());
      case 'word':
        return false;
    }
  }

  /** The supply of this tank has given a reading just now. */
  #answers(nowMs: number): boolean {
    const { cycleMs, link } = this.#tank;
    return link.connected && nowMs - this.#readAtMs <= Math.max(freshMs, 2 * cycleMs);
  }
}

function keyOf({ code, runId, wallMs, found }: Alarm): string {
  return [code, runId ?? '', wallMs, found].join('\n');
}

/** The sensor that the alarm names is inside of its limits; one that the settings do not have any more worries nobody. */
function isWell({ found }: Alarm, sensors: readonly LiveSensor[]): boolean {
  const named = sensors.filter(({ name }) => found.startsWith(`${name} `));
  return named.every(
    ({ state, value, low, high }) =>
      state === 'well' &&
      value !== null &&
      (low === null || value >= low) &&
      (high === null || value <= high),
  );
}
