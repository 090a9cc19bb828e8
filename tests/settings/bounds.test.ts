/** Every bound of bench.toml: the last value inside loads, the first outside is refused by name. */

import { isAbsolute } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { BenchFolder, benchToml } from './bench-folder.ts';

const folder = new BenchFolder();
afterAll(() => folder.remove());

function withLine(key: string, value: string): string {
  const line = new RegExp(`^${key} = .*$`, 'm');
  expect(benchToml).toMatch(line);
  return benchToml.replace(line, () => `${key} = ${value}`);
}

function withLink(link: string): string {
  return withLine('link', link);
}

/** key path, key in the text, values inside, values outside, words that the bound must hold */
const cases: readonly [string, string, readonly string[], readonly string[], string][] = [
  ['studio', 'studio', ['"x"', `"${'x'.repeat(80)}"`], ['""', `"${'x'.repeat(81)}"`, '3'], '80'],
  ['server.port', 'port', ['0', '65535'], ['-1', '65536', '80.5', '"80"'], '65535'],
  ['tanks[0].id', 'id', ['"a"', `"${'a'.repeat(64)}"`], ['""', '"a b"', '"a/b"'], '64 letters'],
  ['tanks[0].name', 'name', ['"ä"'], ['""', '"a\\nb"', 'true'], '80 characters'],
  ['tanks[0].volumeLitres', 'volumeLitres', ['0.02', '2000'], ['0', '0.01', '2001', '-1'], '2000'],
  ['tanks[0].anodeAreaDm2', 'anodeAreaDm2', ['0.01', '1000'], ['0', '1001', '-0.5'], '1000 dm2'],
  ['tanks[0].maxAmps', 'maxAmps', ['0.001', '500'], ['0', '-3', '501', '"3"'], '500 A'],
  ['tanks[0].maxVolts', 'maxVolts', ['0.1', '60'], ['0', '-6', '60.1'], '60 V'],
  ['tanks[0].maxHours', 'maxHours', ['0.01', '336'], ['0', '-1', '337'], '336 h'],
  ['tanks[0].pollHz', 'pollHz', ['1', '20'], ['0.9', '0', '21', '-4'], '20'],
  ['tanks[0].timeScale', 'timeScale', ['1', '2000'], ['0.5', '0', '2001', '-240'], '2000'],
  [
    'tanks[0].rectifier.meterUncertainty',
    'meterUncertainty',
    ['0', '0.2'],
    ['-0.01', '0.21', '5'],
    '0.2',
  ],
];

describe('bounds of the settings', () => {
  for (const [path, key, inside, outside, words] of cases) {
    it.each(inside)(`take ${path} = %s`, (value) => {
      expect(folder.load(withLine(key, value)).settings.tanks).toHaveLength(1);
    });

    it.each(outside)(`refuse ${path} = %s and name key, value, bound and line`, (value) => {
      const text = withLine(key, value);
      const problems = folder.refusals(text);
      expect(problems).toHaveLength(1);
      expect(problems[0]?.field).toBe(path);
      expect(problems[0]?.bound).toContain(words);
      expect(problems[0]?.message).toContain(problems[0]?.value);
      const line = text.split('\n').findIndex((row) => row.startsWith(`${key} = `)) + 1;
      expect(problems[0]?.line).toBe(line);
    });
  }

  it('take a number of copies from 1 to 400, and a folder beside the settings', () => {
    const withBackups = (lines: string): string => `${benchToml}\n[backups]\n${lines}\n`;
    const { backups } = folder.load(withBackups('keep = 400\nfolder = "copies"')).settings;
    expect(backups).toMatchObject({ nightly: true, keep: 400 });
    expect(isAbsolute(backups.folder ?? '')).toBe(true);
    for (const value of ['0', '401', '1.5', '"7"']) {
      const problems = folder.refusals(withBackups(`keep = ${value}`));
      expect(problems[0]).toMatchObject({ field: 'backups.keep' });
      expect(problems[0]?.bound).toContain('from 1 to 400');
    }
    expect(folder.refusals(withBackups('nightly = "yes"'))[0]?.bound).toBe('true or false');
  });

  const numbers = cases.filter(([, , inside]) => !inside[0]?.startsWith('"'));
  it('cover every number of the file', () => {
    const written = [...benchToml.matchAll(/^(\w+) = [\d.]+$/gm)].map((match) => match[1]);
    expect(new Set(numbers.map(([, key]) => key))).toEqual(new Set(written));
  });

  it.each(numbers.flatMap(([path, key]) => ['nan', 'inf', '-inf'].map((v) => [path, key, v])))(
    'refuse %s (%s) = %s',
    (path = '', key = '', value = '') => {
      expect(folder.refusals(withLine(key, value)).map((problem) => problem.field)).toEqual([path]);
    },
  );

  it.each(['studio', 'id', 'name', 'bath', 'maxAmps', 'maxVolts', 'maxHours', 'dialect', 'link'])(
    'say that %s is missing when it is left out',
    (key) => {
      const problems = folder.refusals(benchToml.replace(new RegExp(`^${key} = .*$`, 'm'), ''));
      expect(problems).toHaveLength(1);
      expect(problems[0]?.field.split('.').at(-1)).toBe(key);
      expect(problems[0]?.message).toMatch(/is missing; it must be /);
    },
  );

  it('give a rate of 4 polls, real time, the scpi driver and the default port when left out', () => {
    const text = benchToml
      .replace(/^(?:pollHz|timeScale|driver|meterUncertainty) = .*$/gm, '')
      .replace(/^\[server\]\nport = 0$/m, '');
    const { settings } = folder.load(text);
    expect(settings.server.port).toBe(29_635);
    expect(settings.database.file).toBeNull();
    expect(settings.tanks[0]).toMatchObject({
      pollHz: 4,
      timeScale: 1,
      rectifier: { driver: 'scpi', meterUncertainty: 0.01, expectIdentity: null },
    });
  });
});

describe('links', () => {
  it.each([
    ['{ kind = "serial", path = "/dev/serial/by-id/usb-x" }', { baudRate: null }],
    ['{ kind = "serial", path = "/dev/ttyUSB0", baudRate = 300 }', { baudRate: 300 }],
    ['{ kind = "serial", path = "COM3", baudRate = 4000000 }', { path: 'COM3' }],
    ['{ kind = "tcp", host = "192.0.2.10", port = 5025 }', { port: 5025 }],
    ['{ kind = "tcp", host = "::1", port = 65535 }', { host: '::1' }],
    ['{ kind = "tcp", host = "supply.local", port = 1 }', { host: 'supply.local' }],
  ])('take %s', (link, expected) => {
    expect(folder.load(withLink(link)).settings.tanks[0]?.rectifier.link).toMatchObject(expected);
  });

  it.each([
    ['{ kind = "usb" }', 'kind', '"serial", "tcp", "in-process"'],
    ['{ }', 'kind', '"serial", "tcp", "in-process"'],
    ['{ kind = "serial" }', 'path', 'device path'],
    ['{ kind = "serial", path = "ttyUSB0" }', 'path', 'device path'],
    ['{ kind = "serial", path = "" }', 'path', 'device path'],
    ['{ kind = "serial", path = "/dev/tty\\u0000" }', 'path', 'device path'],
    ['{ kind = "serial", path = "/dev/x", baudRate = 299 }', 'baudRate', '300'],
    ['{ kind = "serial", path = "/dev/x", baudRate = 4000001 }', 'baudRate', '4000000'],
    ['{ kind = "serial", path = "/dev/x", baudRate = 9600.5 }', 'baudRate', 'whole'],
    ['{ kind = "tcp", host = "a b", port = 1 }', 'host', 'host name'],
    ['{ kind = "tcp", host = "", port = 1 }', 'host', 'host name'],
    ['{ kind = "tcp", host = "a", port = 0 }', 'port', '65535'],
    ['{ kind = "tcp", host = "a", port = 65536 }', 'port', '65535'],
    ['{ kind = "in-process", path = "/dev/x" }', 'path', 'key'],
  ])('refuse %s at %s', (link, key, words) => {
    const problems = folder.refusals(withLink(link));
    expect(problems).toHaveLength(1);
    expect(problems[0]?.field).toBe(`tanks[0].rectifier.link.${key}`);
    expect(problems[0]?.message).toContain(words);
    expect(problems[0]?.line).toBe(23);
  });

  it('refuse a table where text belongs, and text where a table belongs', () => {
    expect(folder.refusals(withLine('link', '"serial"'))[0]?.field).toBe('tanks[0].rectifier.link');
    expect(folder.refusals(withLine('name', '{ a = 1 }'))[0]?.value).toBe('a table');
    expect(folder.refusals(withLine('name', '2026-11-25'))[0]?.value).toBe('a date');
  });
});
