/** The three steps of an alarm: raised, acknowledged, over; in either order of the last two, and across a restart. */

import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, it } from 'vitest';
import { AlarmBoard } from '../../daemon/control/alarm-board.ts';
import { AlarmClearing, isWatched, type ClearedTank } from '../../daemon/control/alarm-clearing.ts';
import { recover } from '../../daemon/control/recovery.ts';
import { faultCodes } from '../../daemon/run/model.ts';
import type { LiveSensor } from '../../daemon/wire/sensors.ts';
import type { Alarm } from '../../daemon/wire/run.ts';
import { aRequest, TankBench } from './a-tank.ts';

const open: TankBench[] = [];
const folders: string[] = [];
afterEach(async () => {
  for (const bench of open.splice(0)) {
    bench.instrument.faults.clearAll(bench.clock.nowMs());
    await bench.close();
  }
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true });
});

function anAlarm(code: string, changes: Partial<Alarm> = {}): Alarm {
  return {
    id: 1,
    runId: null,
    tankId: 'one',
    wallMs: 1,
    priority: 'act-soon',
    code,
    found: 'Something was found.',
    cause: '',
    remedy: '',
    acknowledgedWallMs: null,
    clearedWallMs: null,
    ...changes,
  };
}

function aSensor(changes: Partial<LiveSensor>): LiveSensor {
  const named = { id: 'bath', name: 'Bath', kind: 'temperature', unit: '°C' } as const;
  return { ...named, value: 25, state: 'well', message: '', low: null, high: 28, ...changes };
}

/** A tank of which only what is looked at is there, in time that passes by hand. */
class HandTank {
  nowMs = 0;
  output = 'confirmedOff';
  connected = true;
  supplyTrips: readonly string[] = [];
  logFails = false;
  sensors: readonly LiveSensor[] = [];
  answers = true;
  run: { id: string; startedWallMs: number | null; lifecycle: string } | null = null;
  readonly cleared: Alarm[] = [];
  readonly board = new AlarmBoard(() => undefined);
  readonly #clearing: AlarmClearing;
  #reading: unknown = null;

  constructor(alarm: Alarm) {
    this.board.take(alarm);
    const tank = {
      id: 'one',
      alarms: this.board,
      clock: { nowMs: () => this.nowMs },
      cycleMs: 250,
      journal: {
        clear: (one: Alarm) => {
          this.cleared.push(one);
          this.board.take({ ...one, clearedWallMs: this.nowMs });
        },
      },
      sensors: { picture: () => this.sensors },
    };
    Object.defineProperties(tank, {
      output: { get: () => this.output },
      link: { get: () => ({ connected: this.connected }) },
      lastReading: { get: () => this.#reading },
      run: {
        get: () => {
          if (this.run === null) return null;
          const { id, startedWallMs, lifecycle } = this.run;
          return { record: { id }, startedWallMs, state: { lifecycle } };
        },
      },
    });
    this.#clearing = new AlarmClearing(tank as unknown as ClearedTank, () => this.logFails);
  }

  /** So many seconds of four looks each. */
  pass(seconds: number): void {
    for (let look = 0; look < 4 * seconds; look += 1) {
      this.nowMs += 250;
      if (this.answers) this.#reading = { reading: { supplyTrips: this.supplyTrips } };
      this.#clearing.look();
    }
  }
}

describe('what an alarm is about is over', () => {
  it('once the output was read back as off for three seconds, and not before', () => {
    const hand = new HandTank(anAlarm('openCircuit'));
    hand.output = 'offRequested';
    hand.pass(60);
    hand.output = 'confirmedOff';
    hand.pass(2);
    // Once more in doubt: the time starts anew.
    hand.output = 'unknown';
    hand.pass(1);
    hand.output = 'confirmedOff';
    hand.pass(3);
    expect(hand.cleared).toEqual([]);
    hand.pass(1);
    expect(hand.cleared).toHaveLength(1);
    hand.pass(60);
    expect(hand.cleared).toHaveLength(1);
  });

  it('for a silence once readings come, whatever the line says of itself', () => {
    const hand = new HandTank(anAlarm('silence'));
    hand.answers = false;
    hand.pass(60);
    expect(hand.cleared).toEqual([]);
    hand.answers = true;
    hand.connected = false;
    hand.pass(60);
    expect(hand.cleared).toEqual([]);
    hand.connected = true;
    hand.pass(4);
    expect(hand.cleared).toHaveLength(1);
  });

  it('for an off that is old word only when the supply says so now', () => {
    const hand = new HandTank(anAlarm('offUnconfirmed'));
    hand.answers = false;
    hand.pass(60);
    expect(hand.cleared).toEqual([]);
  });

  it.each(['openCircuit', 'supplyTripped'])(
    'for %s at once when current flows in a run that was begun since, not in its own',
    (code) => {
      const hand = new HandTank(anAlarm(code, { runId: 'first', wallMs: 1_000 }));
      hand.output = 'on';
      hand.supplyTrips = ['overVoltage'];
      hand.run = { id: 'first', startedWallMs: 500, lifecycle: 'holding' };
      hand.pass(60);
      hand.run = { id: 'second', startedWallMs: null, lifecycle: 'armed' };
      hand.pass(60);
      hand.run = { id: 'second', startedWallMs: 2_000, lifecycle: 'tripped' };
      hand.pass(60);
      expect(hand.cleared).toEqual([]);
      hand.run = { id: 'second', startedWallMs: 2_000, lifecycle: 'ramping' };
      hand.pass(1);
      expect(hand.cleared).toHaveLength(1);
    },
  );

  it.each(['silence', 'databaseLost', 'sentinelLost'])(
    'not for %s by a run that was begun since: its own sign tells that',
    (code) => {
      const hand = new HandTank(anAlarm(code, { runId: 'first', wallMs: 1_000 }));
      hand.answers = false;
      hand.logFails = true;
      hand.run = { id: 'second', startedWallMs: 2_000, lifecycle: 'holding' };
      hand.pass(60);
      expect(hand.cleared).toEqual([]);
    },
  );

  it('for a trip inside of the supply when the supply says that it is reset', () => {
    const hand = new HandTank(anAlarm('supplyTripped'));
    hand.supplyTrips = ['overVoltage'];
    hand.pass(60);
    expect(hand.cleared).toEqual([]);
    hand.supplyTrips = [];
    hand.pass(4);
    expect(hand.cleared).toHaveLength(1);
  });

  it('for a log when it takes writes again', () => {
    const hand = new HandTank(anAlarm('databaseLost'));
    hand.logFails = true;
    hand.pass(60);
    expect(hand.cleared).toEqual([]);
    hand.logFails = false;
    hand.pass(4);
    expect(hand.cleared).toHaveLength(1);
  });

  it.each([
    ['bathTooWarm', 'Bath reads 31 °C.', { value: 31, state: 'high' }],
    // Just started: it has not been beyond its limit for long enough to be found so.
    ['bathTooWarm', 'Bath reads 31 °C.', { value: 31, state: 'well' }],
    ['sensorMissing', 'Bath has sent no value for 30 s.', { value: null, state: 'missing' }],
    ['sensorMissing', 'Bath has sent no value for 30 s.', { value: null, state: 'well' }],
  ] as const)('for %s when that sensor is well, and has been for a while', (code, found, ill) => {
    const hand = new HandTank(anAlarm(code, { found }));
    const other = aSensor({ id: 'room', name: 'Room', value: 40, state: 'high' });
    hand.sensors = [aSensor(ill), other];
    hand.pass(60);
    expect(hand.cleared).toEqual([]);
    hand.sensors = [aSensor({}), other];
    hand.pass(15);
    expect(hand.cleared).toEqual([]);
    hand.pass(1);
    expect(hand.cleared).toHaveLength(1);
  });

  it('for a sensor that the settings do not have any more', () => {
    const hand = new HandTank(anAlarm('levelTooLow', { found: 'Level reads -30 mm.' }));
    hand.pass(16);
    expect(hand.cleared).toHaveLength(1);
  });

  it('by the word of a person alone where nothing here can see it', () => {
    const unseen = faultCodes.filter((code) => !isWatched(code));
    expect(unseen).toEqual(['controlLost', 'databaseDamaged', 'sentinelLost']);
    for (const code of [...unseen, 'ofALaterVersion']) {
      const hand = new HandTank(anAlarm(code));
      hand.pass(60);
      expect(hand.cleared).toEqual([]);
    }
  });
});

function folderOf(): string {
  const folder = mkdtempSync(join(tmpdir(), 'nightbath-clearing-'));
  folders.push(folder);
  return folder;
}

async function tankOn(file: string): Promise<TankBench> {
  const bench = await TankBench.open({ file, simulated: false, timeScale: 20 });
  open.push(bench);
  return bench;
}

describe('an alarm on the bench', () => {
  it('that is acknowledged stays, quiet, while it goes on, also after a restart, until it is over', async () => {
    const file = join(folderOf(), 'runs.sqlite');
    const first = await (await tankOn(file)).started();
    await first.run(aRequest());
    first.instrument.faults.set('mute', {}, first.clock.nowMs());
    const ofSilence = (bench: TankBench) =>
      [...bench.tank.alarms.standing, ...bench.tank.alarms.quiet].find(
        ({ code }) => code === 'silence',
      );
    await first.until('the alarm on disk', () => (ofSilence(first)?.id ?? -1) > 0);
    const alarmId = ofSilence(first)?.id ?? 0;
    expect(await first.tell({ kind: 'acknowledge', alarmId, by: 'x' })).toEqual({ ok: true });
    expect(first.tank.snapshot().alarms.map(({ id }) => id)).not.toContain(alarmId);
    expect(first.tank.snapshot().quietAlarms).toMatchObject([
      { id: alarmId, code: 'silence', acknowledgedWallMs: expect.any(Number), clearedWallMs: null },
    ]);
    // Taken on is taken on: who presses second changes nothing, and is told of no error.
    const takenOn = first.tank.snapshot().quietAlarms;
    expect(await first.tell({ kind: 'acknowledge', alarmId, by: 'y' })).toEqual({ ok: true });
    expect(first.tank.snapshot().quietAlarms).toEqual(takenOn);
    await first.tank.journal.settled();
    const told = first.messages.flatMap((one) => (one.type === 'event' ? [one.event] : []));
    expect(
      told.filter(({ code }) => code === 'acknowledged').map(({ message }) => message),
    ).toEqual([expect.stringContaining('acknowledged by x')]);
    // One that never was is another matter.
    const never = { kind: 'acknowledge', alarmId: alarmId + 1_000, by: 'x' } as const;
    expect(await first.tell(never)).toMatchObject({ ok: false, code: 'notFound' });
    first.clock.setScale(50);
    await first.tank.close('The test ends it.');
    await first.store.close();

    const second = await tankOn(file);
    await recover(new Map([['one', second.tank]]), second.store, [], Date.now());
    expect(second.tank.alarms.quiet).toMatchObject([{ id: alarmId, code: 'silence' }]);
    // A page that was open all along may still ask for it.
    expect(await second.tell({ kind: 'acknowledge', alarmId, by: 'y' })).toEqual({ ok: true });
    second.tank.start();
    second.clock.setScale(50);
    await second.until('the end of it', () => second.tank.alarms.quiet.length === 0);
    expect(second.messages).toContainEqual({
      type: 'alarm',
      alarm: expect.objectContaining({ id: alarmId, clearedWallMs: expect.any(Number) }),
    });
    await second.tank.journal.settled();
    const stored = second.reader().alarms(10);
    expect(stored.find(({ id }) => id === alarmId)).toMatchObject({
      acknowledgedWallMs: expect.any(Number),
      clearedWallMs: expect.any(Number),
    });
  });

  it('that is over asks on until somebody acknowledges it, and begins again as the same one', async () => {
    const bench = await (await tankOn(join(folderOf(), 'runs.sqlite'))).started();
    const key = (on: boolean) =>
      bench.instrument.faults.set('outputKey', { on }, bench.clock.nowMs());
    const shown = () => bench.tank.alarms.standing;
    bench.clock.setScale(50);
    key(true);
    await bench.until('the alarm on disk', () => (shown()[0]?.id ?? -1) > 0);
    key(false);
    await bench.until('the end of it', () => shown()[0]?.clearedWallMs != null);
    const [alarm] = shown();
    expect(alarm).toMatchObject({ code: 'outputFoundOn', acknowledgedWallMs: null });
    await bench.tank.journal.settled();
    expect(await bench.store.standingAlarms()).toEqual([alarm]);

    key(true);
    await bench.until('it again', () => shown()[0]?.clearedWallMs === null);
    expect(shown()).toHaveLength(1);
    await bench.tank.journal.settled();
    expect(await bench.store.standingAlarms()).toMatchObject([{ clearedWallMs: null }]);

    // Taken on while it goes on; what would stop a run is told anew when it comes anew.
    const alarmId = alarm?.id ?? 0;
    expect(await bench.tell({ kind: 'acknowledge', alarmId, by: 'x' })).toEqual({ ok: true });
    expect(bench.tank.alarms.quiet.map(({ id }) => id)).toEqual([alarmId]);
    key(false);
    await bench.until('the end of that', () => bench.tank.alarms.quiet.length === 0);
    key(true);
    await bench.until('a new alarm', () => (shown()[0]?.id ?? -1) > alarmId);
    key(false);
  });

  it('of a log that is well again is over, and one that is not goes on although it is acknowledged', async () => {
    const bench = await (await tankOn(join(folderOf(), 'runs.sqlite'))).started();
    let failing = true;
    bench.clock.setScale(50);
    Object.defineProperty(bench.store, 'failing', { get: () => failing });
    const { storeFailed } = await import('../../daemon/control/tank-faults.ts');
    storeFailed(bench.tank, 'The disk is full.');
    await bench.until('the alarm', () => (bench.tank.alarms.standing[0]?.id ?? -1) > 0);
    const alarmId = bench.tank.alarms.standing[0]?.id ?? 0;
    await bench.tell({ kind: 'acknowledge', alarmId, by: 'x' });
    // Each further spell of failing is one line in the log and no new call.
    storeFailed(bench.tank, 'The disk is full.');
    expect(bench.tank.alarms.standing).toEqual([]);
    expect(bench.tank.alarms.quiet.map(({ id }) => id)).toEqual([alarmId]);
    failing = false;
    await bench.until('the end of it', () => bench.tank.alarms.quiet.length === 0);
  });
});
