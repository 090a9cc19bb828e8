/** A sensor is judged with patience: one bad line calls nobody, a passed limit does so once, silence too. */

import { describe, expect, it } from 'vitest';
import { faultCodes } from '../../daemon/run/model.ts';
import {
  freshSensor,
  judgeSensor,
  type SensorFinding,
  type SensorRule,
} from '../../daemon/run/sensors.ts';

const rule: SensorRule = {
  id: 'bath',
  name: 'Bath temperature',
  kind: 'temperature',
  unit: '°C',
  low: { value: 18, action: 'alarm' },
  high: { value: 28, action: 'trip' },
  hysteresis: 0.5,
  staleAfterMs: 30_000,
  missing: 'alarm',
};

/** A value every so many ms, null for silence; everything that was found, with its time. */
function course(
  values: readonly (number | null)[],
  everyMs = 2_000,
  changes: Partial<SensorRule> = {},
) {
  let memory = freshSensor(0);
  let sample: { value: number; atMs: number } | null = null;
  const found: (SensorFinding & { atMs: number })[] = [];
  const states: string[] = [];
  for (const [index, value] of values.entries()) {
    const nowMs = (index + 1) * everyMs;
    if (value !== null) sample = { value, atMs: nowMs };
    const judged = judgeSensor(memory, { ...rule, ...changes }, sample, nowMs);
    memory = judged.memory;
    states.push(memory.state);
    if (judged.finding !== null) found.push({ ...judged.finding, atMs: nowMs });
  }
  return { found, states };
}

const times = (count: number, value: number | null) => Array.from({ length: count }, () => value);

describe('a sensor of the bath', () => {
  it('that stays inside its limits is well', () => {
    expect(course([...times(20, 18), ...times(20, 28)]).found).toEqual([]);
  });

  it('is believed beyond a limit after ten seconds and three values, and told once', () => {
    const { found } = course(times(40, 28.25));
    expect(found).toEqual([
      {
        atMs: 12_000,
        code: 'bathTooWarm',
        action: 'trip',
        found: 'Bath temperature reads 28.25 °C, above the limit of 28 °C.',
        subject: 'Bath temperature reads ',
      },
    ]);
  });

  it('with one or two bad lines calls nobody, also where they come seldom', () => {
    expect(course([20, 85, 20, 85, 85, 20, 20]).found).toEqual([]);
    expect(course([20, 85, 85, 20, 20], 20_000).found).toEqual([]);
  });

  it('is well again only once it has come back by the hysteresis', () => {
    const wobble = [...times(8, 17.9), 18.1, 17.9, 18.2, ...times(8, 17.9)];
    expect(course(wobble).found).toHaveLength(1);
    const back = [...times(8, 17.9), 18.6, ...times(8, 17.9)];
    expect(course(back).found.map(({ code }) => code)).toEqual(['bathTooCold', 'bathTooCold']);
    expect(course([...times(8, 17.9), 18.6]).states.at(-1)).toBe('well');
  });

  it('that falls silent is missing, once, until it is heard again', () => {
    const { found, states } = course([20, ...times(40, null), 20, ...times(20, null)]);
    expect(found.map(({ atMs, code, action }) => ({ atMs, code, action }))).toEqual([
      { atMs: 34_000, code: 'sensorMissing', action: 'alarm' },
      { atMs: 116_000, code: 'sensorMissing', action: 'alarm' },
    ]);
    expect(found[0]?.found).toBe('Bath temperature has sent no value for 32 s; the bound is 30 s.');
    expect(states[41]).toBe('well');
  });

  it('that was never heard is missing too', () => {
    expect(course(times(17, null)).found).toMatchObject([{ code: 'sensorMissing', atMs: 32_000 }]);
  });

  it('trips by its silence only where the maker wants that', () => {
    expect(course(times(17, null), 2_000, { missing: 'trip' }).found).toMatchObject([
      { code: 'sensorMissing', action: 'trip' },
    ]);
  });

  it('of a level has words of its own', () => {
    const level = {
      kind: 'level',
      unit: 'mm',
      low: { value: 90, action: 'alarm' },
      high: null,
    } as const;
    expect(course(times(9, 80), 2_000, level).found).toMatchObject([{ code: 'levelTooLow' }]);
    const high = { ...level, low: null, high: { value: 120, action: 'alarm' } } as const;
    expect(course(times(9, 130), 2_000, high).found).toMatchObject([{ code: 'levelTooHigh' }]);
    for (const { code } of course(times(9, 80), 2_000, level).found) {
      expect(faultCodes).toContain(code);
    }
  });

  it('without limits is only watched for its silence', () => {
    const bare = { low: null, high: null };
    expect(course(times(40, 400), 2_000, bare).found).toEqual([]);
  });
});
