/** Sensors in the settings: what a maker leaves out, what is refused, and which field is named. */

import { afterAll, describe, expect, it } from 'vitest';
import { BenchFolder, benchToml } from './bench-folder.ts';

const folder = new BenchFolder();
afterAll(() => folder.remove());

function withSensor(changes: Record<string, string | null> = {}, more = ''): string {
  const keys: Record<string, string | null> = {
    id: '"bath"',
    name: '"Bath temperature"',
    kind: '"temperature"',
    unit: '"°C"',
    link: '{ kind = "serial", path = "/dev/nightbath-sensor" }',
    ...changes,
  };
  const lines = Object.entries(keys).flatMap(([key, value]) =>
    value === null ? [] : [`${key} = ${value}`],
  );
  return `${benchToml}\n[[tanks.sensors]]\n${lines.join('\n')}\n${more}`;
}

describe('a sensor in the settings', () => {
  it('needs no more than its name, its kind, its unit and its line', () => {
    const { settings } = folder.load(withSensor());
    expect(settings.tanks[0]?.sensors).toEqual([
      {
        id: 'bath',
        name: 'Bath temperature',
        kind: 'temperature',
        unit: '°C',
        link: { kind: 'serial', path: '/dev/nightbath-sensor', baudRate: 9600 },
        scale: 1,
        offset: 0,
        low: null,
        high: null,
        hysteresis: 0.5,
        staleAfterSeconds: 30,
        missing: 'alarm',
      },
    ]);
    expect(folder.load(benchToml).settings.tanks[0]?.sensors).toBeUndefined();
  });

  it('calls a person at a limit unless the limit says trip', () => {
    const limits = { low: '{ value = 18 }', high: '{ value = 30, action = "trip" }' };
    const [sensor] = folder.load(withSensor(limits)).settings.tanks[0]?.sensors ?? [];
    expect(sensor?.low).toEqual({ value: 18, action: 'alarm' });
    expect(sensor?.high).toEqual({ value: 30, action: 'trip' });
  });

  it.each([
    [{ kind: '"acidity"' }, 'tanks[0].sensors[0].kind'],
    [{ unit: null }, 'tanks[0].sensors[0].unit'],
    [{ link: '{ kind = "in-process" }' }, 'tanks[0].sensors[0].link.kind'],
    [{ link: '{ kind = "serial", path = "sensor" }' }, 'tanks[0].sensors[0].link.path'],
    [{ staleAfterSeconds: '0' }, 'tanks[0].sensors[0].staleAfterSeconds'],
    [{ scale: 'nan' }, 'tanks[0].sensors[0].scale'],
    [{ missing: '"ignore"' }, 'tanks[0].sensors[0].missing'],
    [{ high: '{ value = 30, action = "stop" }' }, 'tanks[0].sensors[0].high.action'],
    [{ low: '{ value = 31 }', high: '{ value = 30 }' }, 'tanks[0].sensors[0].low.value'],
    [{ hysterisis: '1' }, 'tanks[0].sensors[0].hysterisis'],
  ])('%j is refused by its field', (changes, field) => {
    expect(folder.refusals(withSensor(changes)).map((problem) => problem.field)).toEqual([field]);
  });

  it('is refused with the id of another, or on a line that is the supply or another sensor', () => {
    const second = withSensor().slice(benchToml.length);
    expect(folder.refusals(withSensor({}, second)).map(({ field }) => field)).toEqual([
      'tanks[0].sensors[1].id',
      'tanks[0].sensors[1].link.path',
    ]);
    const supply = '{ kind = "serial", path = "/dev/nightbath-sensor" }';
    const text = withSensor().replace('link = { kind = "in-process" }', `link = ${supply}`);
    const [problem] = folder.refusals(text);
    expect(problem?.field).toBe('tanks[0].sensors[0].link.path');
    expect(problem?.message).toContain('the supply of tanks[0]');
  });
});
