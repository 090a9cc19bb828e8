/** The command line itself: help from the table, versions, bad usage, settings that cannot be used. */

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { exitCodeMeanings, exitCodes } from '../../daemon/cli/command.ts';
import { commands } from '../../daemon/cli/commands.ts';
import { packageRoot } from '../../daemon/settings/door.ts';
import { benchToml } from '../settings/bench-folder.ts';
import { CliBench, nightbath } from './terminal.ts';

const bench = new CliBench();
afterAll(() => bench.remove());

describe('nightbath', () => {
  it.each([['--help'], ['-h'], ['help']])(
    '%s names every command and every exit code',
    async (flag) => {
      const { code, output, complaints } = await nightbath([flag]);
      expect([code, complaints]).toEqual([0, '']);
      for (const { name, summary } of commands) {
        expect(output).toMatch(new RegExp(`^  ${name} +${summary.slice(0, 30)}`, 'm'));
      }
      for (const [number] of exitCodeMeanings)
        expect(output).toMatch(new RegExp(`^  ${number} +\\S`, 'm'));
      expect(Object.values(exitCodes)).toEqual(exitCodeMeanings.map(([number]) => number));
    },
  );

  it.each(commands.map(({ name }) => [name]))('%s --help tells its options', async (name) => {
    const command = await commands.find((one) => one.name === name)?.load();
    for (const args of [
      [name, '--help'],
      [name, '-h'],
      ['help', name],
    ]) {
      const { code, output } = await nightbath(args);
      expect(code).toBe(0);
      expect(output).toContain(`nightbath ${name}`);
      for (const option of Object.keys(command?.options ?? {}))
        expect(output).toContain(`--${option}`);
    }
  });

  it('keeps every line of help within 100 columns', async () => {
    for (const args of [['--help'], ...commands.map(({ name }) => [name, '--help'])]) {
      const { output } = await nightbath(args);
      expect(Math.max(...output.split('\n').map((line) => line.length))).toBeLessThanOrEqual(100);
    }
  });

  it('has a row in the README for every command', () => {
    const readme = readFileSync(join(packageRoot(), 'README.md'), 'utf8');
    for (const { name } of commands)
      expect(readme).toMatch(new RegExp(`\\| \`nightbath ${name}\\b`));
    const rows = [...readme.matchAll(/^\| `nightbath (\w+)/gm)].map((match) => match[1]);
    expect(rows.toSorted((a = '', b = '') => a.localeCompare(b))).toEqual(
      commands.map(({ name }) => name).toSorted((a, b) => a.localeCompare(b)),
    );
  });

  it.each([['--version'], ['-V']])('%s tells the version of the package', async (flag) => {
    const text = readFileSync(join(packageRoot(), 'package.json'), 'utf8');
    const version = /"version": "([^"]+)"/.exec(text)?.[1];
    expect(await nightbath([flag])).toEqual({ code: 0, output: `${version}\n`, complaints: '' });
  });

  it.each([
    [[], 'Name a command', 'nightbath --help'],
    [['pln'], 'Did you mean "plan"?', 'nightbath --help'],
    [['--jsn'], 'is not a command', 'nightbath --help'],
    [['off', '--jsn'], 'Did you mean "--json"?', 'nightbath off --help'],
    [['off', 'a', 'b'], '"b" is one word too many', 'nightbath off --help'],
    [['serve', 'now'], '"now" is one word too many', 'nightbath serve --help'],
    [['serve', '--port'], 'argument missing', 'nightbath serve --help'],
    [['serve', '--port', '65536'], 'from 0 to 65535', 'nightbath serve --help'],
    [['serve', '--port', '-1'], 'ambiguous', 'nightbath serve --help'],
    [['serve', '--port=1e3'], 'from 0 to 65535', 'nightbath serve --help'],
    [['plan'], 'Give one file', 'nightbath plan --help'],
    [['rectifier'], '--tcp PORT and --stdio', 'nightbath rectifier --help'],
    [
      ['rectifier', '--tcp', '0', '--stdio'],
      '--tcp PORT and --stdio',
      'nightbath rectifier --help',
    ],
    [['rectifier', '--tcp', '0', '--dialect', 'x'], 'one of scpi-subsystem', 'nightbath rectifier'],
    [['rectifier', '--tcp', '0', '--paint', 'gold'], 'one of none, silver', 'nightbath rectifier'],
    [['rectifier', '--tcp', '0', '--area', '0'], 'from 0.001 to 100 dm2', 'nightbath rectifier'],
    [['export'], 'Name one run', 'nightbath export --help'],
    [['export', 'x', '--list'], '--list takes no run', 'nightbath export --help'],
    [['export', 'x', '--csv', '--json'], '--csv and --json', 'nightbath export --help'],
    [['export', '--list', '--limit', '0'], 'from 1 to 1000', 'nightbath export --help'],
  ])('%j ends with 2, says %s, and points at the help', async (args, words, help) => {
    const { code, output, complaints } = await bench.run(args);
    expect([code, output]).toEqual([2, '']);
    expect(complaints).toContain(words);
    expect(complaints).toContain(`See ${help}`);
  });

  it.each([['serve'], ['plan', '-'], ['off'], ['export', '--list']])(
    '%s ends with 78 and names the key when the settings cannot be used',
    async (...args) => {
      const broken = new CliBench(benchToml.replace('maxAmps = 3', 'maxAmps = -3'));
      const { code, output, complaints } = await broken.run(args, '{}');
      broken.remove();
      expect([code, output]).toEqual([78, '']);
      expect(complaints).toContain(
        'tanks[0].maxAmps is -3; it must be a number from 0.001 to 500 A',
      );
      expect(complaints).toContain(', line 13:');
    },
  );

  it('uses bold only where the terminal can', async () => {
    expect((await nightbath(['--help'], { decorated: true })).output).toContain('\u001B[1mUsage');
    expect((await nightbath(['--help'])).output).not.toContain('\u001B');
  });
});

describe('nightbath ports', () => {
  it('lists devices or says that there are none, and gives JSON on request', async () => {
    const { code, output } = await nightbath(['ports']);
    expect(code).toBe(0);
    expect(output).toMatch(/No serial device was found|use this path/);
    const json = await nightbath(['ports', '--json']);
    expect(JSON.parse(json.output)).toEqual({ ports: expect.any(Array) });
  });
});
