/** Sensors beside a run: an alarm or a trip as the maker wants it, values in the log, nothing without a run. */

import { afterEach, describe, expect, it } from 'vitest';
import { SensorDesk, type Heard } from '../../daemon/control/sensor-desk.ts';
import type { SensorSettings } from '../../daemon/settings/model.ts';
import { aRequest, TankBench } from './a-tank.ts';

let bench: TankBench | null = null;
afterEach(async () => {
  await bench?.close();
  bench = null;
});

const settings: SensorSettings = {
  id: 'bath',
  name: 'Bath temperature',
  kind: 'temperature',
  unit: '°C',
  link: { kind: 'tcp', host: '127.0.0.1', port: 1 },
  scale: 1,
  offset: 0,
  low: null,
  high: { value: 28, action: 'alarm' },
  hysteresis: 0.5,
  staleAfterSeconds: 30,
  missing: 'alarm',
};

/** A desk whose sensor says what it is told to, in time that passes by hand. */
class HandDesk {
  nowMs = 1_000;
  readonly sensor: { -readonly [Key in keyof Heard]: Heard[Key] } = {
    latest: null,
    trouble: 'Opening the line.',
    start: () => undefined,
    close: () => Promise.resolve(),
  };
  readonly desk: SensorDesk;
  readonly #tank: TankBench['tank'];

  constructor(on: TankBench, changes: Partial<SensorSettings> = {}) {
    this.#tank = on.tank;
    const clock = { nowMs: () => this.nowMs, sleep: () => Promise.resolve() };
    this.desk = new SensorDesk([{ ...settings, ...changes }], () => this.sensor, clock);
  }

  /** So many values, one every two seconds; null is silence. */
  say(value: number | null, times: number): void {
    for (let count = 0; count < times; count += 1) {
      this.nowMs += 2_000;
      if (value !== null) {
        this.sensor.latest = { value, atMs: this.nowMs };
        this.sensor.trouble = '';
      }
      this.desk.judge(this.#tank);
    }
  }
}

async function running(): Promise<TankBench> {
  bench = await (await TankBench.open({ timeScale: 20 })).started();
  await bench.run(aRequest());
  return bench;
}

describe('a sensor beside a run', () => {
  it('calls a person where a limit with an alarm is passed, and the run goes on', async () => {
    const on = await running();
    const hand = new HandDesk(on);
    hand.say(29, 20);
    expect(on.tank.alarms.standing).toMatchObject([
      { code: 'bathTooWarm', priority: 'act-soon', runId: on.tank.run?.record.id },
    ]);
    expect(on.tank.run?.state.fault).toBeNull();
    expect(on.tank.output).toBe('on');
    expect(hand.desk.picture()).toMatchObject([
      { id: 'bath', value: 29, state: 'high', message: '', low: null, high: 28 },
    ]);
  });

  it('calls a person for each sensor of one kind, and once for each', async () => {
    const on = await running();
    const first = new HandDesk(on);
    const second = new HandDesk(on, { id: 'tank', name: 'Bath temperature 2' });
    second.say(30, 20);
    first.say(29, 20);
    const found = () => on.tank.alarms.standing.map((alarm) => alarm.found.split(' reads')[0]);
    expect(found()).toEqual(['Bath temperature 2', 'Bath temperature']);
    first.say(20, 5);
    first.say(31, 20);
    expect(found()).toHaveLength(2);
  });

  it('ends the run where the maker wants that, with the output off', async () => {
    const on = await running();
    new HandDesk(on, { high: { value: 28, action: 'trip' } }).say(29, 20);
    expect(on.tank.run?.state.fault?.code).toBe('bathTooWarm');
    await on.over();
    expect(on.truth().outputOn).toBe(false);
  });

  it('that is missing is an alarm and no end, and says what is wrong with its line', async () => {
    const on = await running();
    const hand = new HandDesk(on);
    hand.sensor.trouble = '/dev/sensor does not exist. Is it plugged in?';
    hand.say(null, 20);
    expect(on.tank.alarms.standing).toMatchObject([{ code: 'sensorMissing' }]);
    expect(on.tank.alarms.standing[0]?.found).toContain('Is it plugged in?');
    expect(on.tank.run?.state.fault).toBeNull();
    expect(hand.desk.picture()).toMatchObject([{ value: null, state: 'missing' }]);
  });

  it('without a run is shown and calls nobody; a run that starts then is watched anew', async () => {
    bench = await (await TankBench.open({ timeScale: 20 })).started();
    const on = bench;
    const hand = new HandDesk(on);
    hand.say(29, 20);
    expect(on.tank.alarms.standing).toEqual([]);
    expect(hand.desk.picture()).toMatchObject([{ value: 29, state: 'high' }]);
    await on.run(aRequest());
    hand.say(29, 20);
    expect(on.tank.alarms.standing).toMatchObject([{ code: 'bathTooWarm' }]);
  });

  it('is written with the run, every five seconds at the most', async () => {
    const on = await running();
    const hand = new HandDesk(on);
    hand.say(21.5, 10);
    hand.say(null, 5);
    hand.say(22, 1);
    await on.tank.journal.settled();
    const reader = on.reader();
    const [trace, ...others] = reader.sensors(on.tank.run?.record.id ?? '');
    expect(others).toEqual([]);
    expect(trace).toMatchObject({ id: 'bath', name: 'Bath temperature', unit: '°C' });
    // Twenty seconds of a value every two are four; then the silence; then one more.
    expect(trace?.values).toEqual([21.5, 21.5, 21.5, 21.5, 22]);
    expect(trace?.atMs).toEqual(trace?.atMs.toSorted((left, right) => left - right));
    expect(reader.sensors('no such run')).toEqual([]);
    reader.close();
  });
});
