/** `nightbath check` up to the point where power flows: questions, dialects, limits, read-back, and refusals. */

import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it, onTestFinished } from 'vitest';
import { parse } from 'smol-toml';
import type { Personality } from '../../drivers/simulated/model.ts';
import { runSimulatedRectifier } from '../../drivers/simulated/rectifier.ts';
import { loadSettings, packageRoot, settingsSchema } from '../../daemon/settings/door.ts';
import { CliBench, nightbath } from './terminal.ts';

async function supplyOnTcp(personality: Personality) {
  const supply = await runSimulatedRectifier({
    personality,
    line: { kind: 'tcp', port: 0 },
    notice: () => {},
  });
  onTestFinished(() => supply.close());
  return supply;
}

/** A shipped dialect that gives a busy machine time to answer; a test about silence takes none. */
function patient(dialect: string): string {
  const text = readFileSync(join(packageRoot(), 'config/dialects', `${dialect}.toml`), 'utf8');
  expect(text).toContain('\ntimeoutMs = 180\n');
  return text.replace('\ntimeoutMs = 180\n', '\ntimeoutMs = 1000\n');
}

/** Its own dialect files stand before the shipped ones of the same name. */
function aBench(...dialects: readonly string[]): CliBench {
  const bench = new CliBench();
  for (const name of dialects) bench.write(`dialects/${name}.toml`, patient(name));
  onTestFinished(() => bench.remove());
  return bench;
}

const off = ['--no-power', '--after-mains', 'off'];

interface Told {
  readonly supply: { readonly dialect: string; readonly maxAmps: number };
  readonly steps: readonly {
    readonly id: string;
    readonly state: string;
    readonly found: string;
  }[];
  readonly settings: string;
}

describe('nightbath check with its output off', () => {
  it('asks what is not given, and ends with settings that can be used', async () => {
    const supply = await supplyOnTcp('scpi-subsystem');
    const bench = aBench('scpi-subsystem');
    const args = ['check', '--port', `tcp://127.0.0.1:${supply.port}`, '--json', '--no-power'];
    // A second dialect that fits: which of the two the maker means has to be asked.
    bench.write('dialects/my-own.toml', patient('scpi-subsystem'));
    const answers = ['2', '2,5', '6', 'off'];
    const { code, output, complaints } = await nightbath(args, { env: bench.env, answers });
    expect([code, complaints]).toEqual([0, expect.stringContaining('Which one does its manual')]);
    const told = JSON.parse(output) as Told;
    expect(told.supply).toMatchObject({ dialect: 'scpi-subsystem', maxAmps: 2.5 });
    const states = Object.fromEntries(told.steps.map(({ id, state }) => [id, state]));
    expect(states).toMatchObject({
      identity: 'ok',
      'set-points': 'ok',
      output: 'ok',
      drill: 'skipped',
    });
    const whole = `studio = "Trial"\n${told.settings}`;
    expect(settingsSchema.parse(parse(whole)).tanks[0]).toMatchObject({
      maxAmps: 2.5,
      rectifier: { dialect: 'scpi-subsystem', expectIdentity: 'SIM-30-5' },
    });
    expect(supply.instrument.truth(0)).toMatchObject({ onsReceived: 0, outputOn: false });
    expect(supply.instrument.truth(0).highestSetVolts).toBeLessThanOrEqual(6);
  }, 60_000);

  it.each(['vset-iset', 'fixed-length'] as const)(
    'says what a supply that speaks %s lacks',
    async (dialect) => {
      const supply = await supplyOnTcp(dialect);
      const port = `tcp://127.0.0.1:${supply.port}`;
      const { code, output } = await nightbath(
        [
          'check',
          '--port',
          port,
          '--dialect',
          dialect,
          '--max-amps',
          '2',
          '--max-volts',
          '5',
          ...off,
        ],
        { env: aBench(dialect).env },
      );
      expect(code).toBe(0);
      expect(output).toMatch(/skipped protections +it lacks: .*an over-current limit/);
      expect(output).toMatch(/ok +set-points +1 V, 0\.2 A.*set and read back/);
      expect(supply.instrument.truth(0).onsReceived).toBe(0);
    },
  );

  it('sends nothing to a supply whose output is on', async () => {
    const supply = await supplyOnTcp('scpi-subsystem');
    supply.instrument.faults.set('outputKey', { on: true }, 0);
    const before = supply.instrument.truth(0);
    const port = `tcp://127.0.0.1:${supply.port}`;
    const args = ['check', '--port', port, '--dialect', 'scpi-subsystem', '--max-amps', '1'];
    const { code, complaints } = await nightbath([...args, '--max-volts', '5', ...off], {
      env: aBench('scpi-subsystem').env,
    });
    expect([code, complaints]).toEqual([69, expect.stringContaining('Its output is on')]);
    expect(supply.instrument.truth(0)).toMatchObject({
      outputOn: true,
      offsReceived: before.offsReceived,
      highestSetAmps: before.highestSetAmps,
    });
  });

  it.each([
    ['a current above what the supply gives', ['--max-amps', '50'], 2, /50.*at most 5 A/],
    ['a voltage of no number', ['--max-amps', '1', '--max-volts', 'six'], 2, /six/],
    ['no answer and no terminal', [], 2, /give --max-amps/],
    ['an answer of none', ['--max-amps', '1', '--max-volts', '5', '--after-mains', 'up'], 2, /up/],
  ] as const)('refuses %s', async (_what, more, code, words) => {
    const supply = await supplyOnTcp('scpi-subsystem');
    const port = `tcp://127.0.0.1:${supply.port}`;
    const args = ['check', '--port', port, '--dialect', 'scpi-subsystem', '--no-power', ...more];
    const result = await nightbath(args, { env: aBench('scpi-subsystem').env });
    expect(result.code).toBe(code);
    expect(result.complaints).toMatch(words);
    expect(supply.instrument.truth(0).onsReceived).toBe(0);
  });

  it('says that nobody is there', async () => {
    const args = ['check', '--port', 'tcp://127.0.0.1:9', '--dialect', 'scpi-subsystem', ...off];
    const { code } = await nightbath(args, { env: aBench().env });
    expect(code).toBe(69);
  });

  it('says that a dialect does not fit, and why', async () => {
    const supply = await supplyOnTcp('fixed-length');
    const port = `tcp://127.0.0.1:${supply.port}`;
    const args = ['check', '--port', port, '--dialect', 'scpi-subsystem', ...off];
    const { code, output, complaints } = await nightbath(args, { env: aBench().env });
    expect([code, complaints]).toEqual([69, expect.stringContaining('none of these dialects')]);
    expect(output).toMatch(/ {2}scpi-subsystem: /);
    expect(supply.instrument.truth(0).onsReceived).toBe(0);
  });
});

describe('nightbath check --write', () => {
  /** The maker's own file: a bench of two tanks with remarks, in an order of its own. */
  const own = `# Our bench
studio = "Trial" # the back room

[[tanks]]
id = "small"
name = "Small beaker"
bath = "acid-copper-still"
volumeLitres = 1
anodeAreaDm2 = 1
maxAmps = 1
maxVolts = 3
maxHours = 10
[tanks.rectifier]
dialect = "scpi-subsystem"
link = { kind = "in-process" }

# The one by the window
[[tanks]]
name = "Large tank"
id = "large"
bath = "acid-copper-still"
volumeLitres = 9.5 # measured
anodeAreaDm2 = 3
timeScale = 60
maxVolts = 12 # what the leads bear
maxAmps = 5
maxHours = 14
[tanks.rectifier]
dialect = "scpi-subsystem" # not known yet
link = { kind = "in-process" }
`;

  async function checkedInto(tankId: string, more: readonly string[] = off) {
    const supply = await supplyOnTcp('scpi-subsystem');
    const bench = aBench('scpi-subsystem');
    writeFileSync(bench.file, own);
    const port = `tcp://127.0.0.1:${supply.port}`;
    const result = await bench.run(
      `check --port ${port} --dialect scpi-subsystem --max-amps 2.5 --max-volts 6 --write ${tankId}`
        .split(' ')
        .concat(more),
    );
    return { supply, bench, result, text: readFileSync(bench.file, 'utf8') };
  }

  it('writes the supply of one tank, and leaves every other line as it was', async () => {
    const { supply, bench, result, text } = await checkedInto('large', [
      '--no-power',
      '--after-mains',
      'on',
    ]);
    // That the output comes back with the mains is a finding, and is written as it is.
    expect(result).toMatchObject({ code: 1, complaints: '' });
    expect(result.output).toContain(`Written to tank large in ${bench.file}.`);
    const kept = own.replace('timeScale = 60\n', '').split('\n');
    for (const line of kept.filter(
      (one) => !/^(maxVolts = 12|maxAmps = 5|dialect|link)/.test(one),
    )) {
      expect(text.split('\n')).toContain(line);
    }
    expect(text).toContain('maxVolts = 6 # what the leads bear');
    const { settings } = loadSettings({ env: bench.env, configPath: bench.file });
    expect(settings.tanks[0]).toMatchObject({
      maxAmps: 1,
      rectifier: { link: { kind: 'in-process' } },
    });
    expect(settings.tanks[1]).toMatchObject({
      id: 'large',
      volumeLitres: 9.5,
      maxAmps: 2.5,
      maxVolts: 6,
      timeScale: 1,
      rectifier: {
        dialect: 'scpi-subsystem',
        expectIdentity: 'SIM-30-5',
        afterMains: 'on',
        link: { kind: 'tcp', host: '127.0.0.1', port: supply.port },
      },
    });
    expect(readFileSync(`${bench.file}.previous`, 'utf8')).toBe(own);
  });

  it('asks nothing of the supply where there is no such tank', async () => {
    const { supply, result, text } = await checkedInto('middle');
    expect(result.code).toBe(2);
    expect(result.complaints).toContain('--write is "middle"');
    expect(result.complaints).toContain('"small", "large"');
    expect(supply.instrument.truth(0).highestSetAmps).toBeLessThan(0.2);
    expect(text).toBe(own);
  });

  it('writes nothing where a step failed', async () => {
    const supply = await supplyOnTcp('scpi-subsystem');
    supply.instrument.faults.set('ignoresSet', {}, 0);
    const bench = aBench('scpi-subsystem');
    writeFileSync(bench.file, own);
    const port = `tcp://127.0.0.1:${supply.port}`;
    const asked = `check --port ${port} --dialect scpi-subsystem --max-amps 2.5 --max-volts 6`;
    const args = [...asked.split(' '), '--write', 'large', '--json', ...off];
    const { code, output } = await bench.run(args);
    expect(code).toBe(1);
    const told = JSON.parse(output) as { written: { ok: boolean; reason: string } };
    expect(told.written).toMatchObject({
      ok: false,
      reason: expect.stringContaining('set-points'),
    });
    expect(readFileSync(bench.file, 'utf8')).toBe(own);
  });
});
