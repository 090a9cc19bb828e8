/** `nightbath verify`: one line for each thing a night needs, with the code of the first that is wrong. */

import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { openBenchFile } from '../store/bench-file.ts';
import { CliBench } from './terminal.ts';

function settingsWith(link: string, dialect = 'scpi-subsystem'): string {
  return `studio = "Test studio"
[server]
port = 29001
[[tanks]]
id = "one"
name = "Tank one"
bath = "acid-copper-still"
volumeLitres = 3
anodeAreaDm2 = 2
maxAmps = 3
maxVolts = 6
maxHours = 12
pollHz = 4
[tanks.rectifier]
driver = "scpi"
dialect = "${dialect}"
meterUncertainty = 0.01
link = ${link}
`;
}

function benchWith(settings: string): CliBench {
  const bench = new CliBench();
  onTestFinished(() => bench.remove());
  writeFileSync(bench.file, settings);
  mkdirSync(join(bench.path, 'state'));
  return bench;
}

interface Checks {
  readonly checks: readonly { state: string; what: string; found: string }[];
}

async function verified(bench: CliBench): Promise<{ code: number; checks: Checks['checks'] }> {
  const { code, output } = await bench.run(['verify', '--json']);
  return { code, checks: (JSON.parse(output) as Checks).checks };
}

describe('nightbath verify', () => {
  it('finds a simulated bench well, one line each, and makes nothing', async () => {
    const bench = benchWith(settingsWith('{ kind = "in-process" }'));
    const { code, checks } = await verified(bench);
    expect(code).toBe(0);
    expect(checks.map(({ state, what }) => [state, what])).toEqual([
      ['ok', 'settings'],
      ['ok', 'materials'],
      ['ok', 'database'],
      ['ok', 'room for the log'],
      ['ok', 'page'],
      ['ok', 'one: bath'],
      ['ok', 'one: dialect'],
      ['ok', 'one: line'],
    ]);
    expect(checks[2]?.found).toContain('not there yet');
    const text = await bench.run(['verify']);
    expect(text.output.trim().split('\n')).toHaveLength(9);
  });

  it('names what the supply does not guard by itself', async () => {
    const { code, checks } = await verified(
      benchWith(settingsWith('{ kind = "tcp", host = "127.0.0.1", port = 5025 }', 'vset-iset')),
    );
    expect(code).toBe(0);
    const dialect = checks.find(({ what }) => what === 'one: dialect');
    expect(dialect?.state).toBe('look');
    expect(dialect?.found).toContain('Nightbath alone watches the rest');
    expect(checks.find(({ what }) => what === 'one: line')?.state).toBe('look');
  });

  it.each([
    [
      'a port that is not there',
      settingsWith('{ kind = "serial", path = "/dev/serial/by-id/none", baudRate = 9600 }'),
      69,
      'one: line',
      '/dev/serial/by-id/none is not there',
    ],
    [
      'a dialect that is not there',
      settingsWith('{ kind = "in-process" }', 'klingon'),
      78,
      'settings',
      'klingon',
    ],
    [
      'a bath that is not there',
      settingsWith('{ kind = "in-process" }').replace('acid-copper-still', 'moon-dust'),
      78,
      'settings',
      'moon-dust',
    ],
    ['settings that cannot be read', 'studio = 7', 78, 'settings', 'studio'],
  ])('ends with its code for %s', async (_name, settings, code, what, words) => {
    const found = await verified(benchWith(settings));
    expect(found.code).toBe(code);
    const line = found.checks.find((one) => one.what === what);
    expect(line?.state).toBe('wrong');
    expect(line?.found).toContain(words);
  });

  it('tells a sound database from a damaged one, and changes neither', async () => {
    const bench = benchWith(settingsWith('{ kind = "in-process" }'));
    const file = join(bench.path, 'state', 'nightbath.sqlite');
    openBenchFile(file).close();
    expect((await verified(bench)).checks[2]).toMatchObject({ state: 'ok', what: 'database' });
    writeFileSync(file, 'x'.repeat(9_000));
    const damaged = await verified(bench);
    expect(damaged.code).toBe(74);
    expect(damaged.checks[2]).toMatchObject({ state: 'wrong', what: 'database' });
  });
});
