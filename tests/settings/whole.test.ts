/** What only the whole file can show: shared supplies, hurried real ones, unknown names and keys. */

import { symlinkSync } from 'node:fs';
import { join } from 'node:path';
import * as fc from 'fast-check';
import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import {
  SettingsError,
  dialectNames,
  loadBaths,
  loadDialect,
  loadSettings,
} from '../../daemon/settings/door.ts';
import { BenchFolder, bathToml, benchToml } from './bench-folder.ts';

let folder = new BenchFolder();
beforeEach(() => {
  folder.remove();
  folder = new BenchFolder();
});
afterAll(() => folder.remove());

const secondTank = benchToml.slice(benchToml.indexOf('[[tanks]]'));
const inProcess = 'link = { kind = "in-process" }';

function twoTanks(firstLink: string, secondLink: string, secondId = 'two'): string {
  const first = benchToml.replace(inProcess, `link = ${firstLink}`);
  const second = secondTank
    .replace(inProcess, `link = ${secondLink}`)
    .replace('"one"', `"${secondId}"`);
  return `${first}\n${second}`;
}

const fragments =
  `= [ ] [[tanks]] " ''' { } , . # 1e999 nan - studio __proto__ tanks rectifier 0x 2026-11-25`
    .split(' ')
    .concat('\n', '\u0000', '\uD800');
const withDriver = (driver: string) => benchToml.replace('driver = "scpi"', `driver = "${driver}"`);
const withDatabase = (file: string) => `${benchToml}\n[database]\nfile = "${file}"\n`;
const tanks = (count: number) =>
  benchToml.slice(0, benchToml.indexOf('[[tanks]]')) +
  Array.from({ length: count }, (_, i) => secondTank.replace('"one"', `"t${i}"`)).join('\n');

describe('settings as a whole', () => {
  it('refuse two tanks of one id and say which', () => {
    const problems = folder.refusals(
      twoTanks('{ kind = "in-process" }', '{ kind = "in-process" }', 'one'),
    );
    expect(problems.map((problem) => problem.field)).toEqual(['tanks[1].id']);
    expect(problems[0]?.message).toContain('tanks[0]');
  });

  it('take two simulated tanks', () => {
    const text = twoTanks('{ kind = "in-process" }', '{ kind = "in-process" }');
    expect(folder.load(text).settings.tanks.map((tank) => tank.id)).toEqual(['one', 'two']);
  });

  it('refuse two tanks on one serial path', () => {
    const link = '{ kind = "serial", path = "/dev/nightbath-none" }';
    expect(folder.refusals(twoTanks(link, link))[0]?.field).toBe('tanks[1].rectifier.link.path');
  });

  it('refuse two tanks on two names of one device', () => {
    const device = folder.write('device', '');
    const other = join(folder.path, 'by-id');
    symlinkSync(device, other);
    const text = twoTanks(
      `{ kind = "serial", path = "${device}" }`,
      `{ kind = "serial", path = "${other}" }`,
    );
    expect(folder.refusals(text)[0]?.field).toBe('tanks[1].rectifier.link.path');
  });

  it('refuse two tanks on one network address', () => {
    const text = twoTanks(
      '{ kind = "tcp", host = "Supply.local", port = 5025 }',
      '{ kind = "tcp", host = "supply.local", port = 5025 }',
    );
    expect(folder.refusals(text)[0]?.field).toBe('tanks[1].rectifier.link.port');
  });

  it.each(['{ kind = "serial", path = "/dev/x" }', '{ kind = "tcp", host = "a", port = 1 }'])(
    'refuse to hurry the real supply %s',
    (link) => {
      const text = benchToml
        .replace('timeScale = 1', 'timeScale = 2')
        .replace(inProcess, `link = ${link}`);
      const problems = folder.refusals(text);
      expect(problems.map((problem) => problem.field)).toEqual(['tanks[0].timeScale']);
      expect(problems[0]?.message).toContain('only the simulated supply');
    },
  );

  it('name the known baths and dialects beside an unknown one, with the likely one', () => {
    const text = benchToml
      .replace('"trial-copper"', '"trial-coper"')
      .replace('"trial-dialect"', '"trial_dialect"');
    const [bath, dialect] = folder.refusals(text);
    expect(bath?.field).toBe('tanks[0].bath');
    expect(bath?.bound).toContain('trial-copper');
    expect(bath?.message).toContain('Did you mean "trial-copper"?');
    expect(dialect?.field).toBe('tanks[0].rectifier.dialect');
    expect(dialect?.message).toContain('Did you mean "trial-dialect"?');
  });

  it('refuse a driver that is neither scpi nor a path, and make a path absolute', () => {
    expect(folder.refusals(withDriver('magic'))[0]?.field).toBe('tanks[0].rectifier.driver');
    const { settings } = folder.load(withDriver('./own/driver.js'));
    expect(settings.tanks[0]?.rectifier.driver).toBe(join(folder.path, 'own/driver.js'));
  });

  it('make the path of the database absolute, from the settings file on', () => {
    expect(folder.load(withDatabase('runs/a.sqlite')).settings.database.file).toBe(
      join(folder.path, 'runs/a.sqlite'),
    );
    expect(folder.load(withDatabase('/var/a.sqlite')).settings.database.file).toBe('/var/a.sqlite');
    expect(folder.refusals(withDatabase('~/a.sqlite'))[0]?.field).toBe('database.file');
    expect(folder.refusals(withDatabase(''))[0]?.field).toBe('database.file');
  });

  it('take one to eight tanks', () => {
    expect(folder.load(tanks(8)).settings.tanks).toHaveLength(8);
    expect(folder.refusals(tanks(9))[0]?.field).toBe('tanks');
    expect(folder.refusals(tanks(0))[0]?.message).toContain('tanks is missing');
    expect(folder.refusals(`tanks = []\n${tanks(0)}`)[0]?.field).toBe('tanks');
  });

  it('report every problem at once', () => {
    const text = benchToml
      .replace('maxAmps = 3', 'maxAmps = 0')
      .replace('pollHz = 4', 'pollHz = 99');
    expect(folder.refusals(text).map((problem) => problem.field)).toEqual([
      'tanks[0].maxAmps',
      'tanks[0].pollHz',
    ]);
  });
});

describe('unknown keys', () => {
  it.each([
    ['studio = "Trial bench"', 'studio = "Trial bench"\nstuido = 1', 'stuido', 'studio'],
    ['maxAmps = 3', 'maxAmps = 3\nmax_volts = 2', 'tanks[0].max_volts', 'maxVolts'],
    ['port = 0', 'port = 0\nProt = 1', 'server.Prot', 'port'],
    ['driver = "scpi"', 'drivr = "scpi"', 'tanks[0].rectifier.drivr', 'driver'],
    [
      inProcess,
      'link = { kind = "in-process", baudrate = 1 }',
      'tanks[0].rectifier.link.baudrate',
      'baudRate',
    ],
  ])('are refused with the word that was meant: %s', (from, to, field, meant) => {
    const [problem] = folder.refusals(benchToml.replace(from, to));
    expect(problem?.field).toBe(field);
    expect(problem?.message).toContain(`Did you mean "${meant}"?`);
  });

  it('are listed with the known ones when nothing is near', () => {
    const [problem] = folder.refusals(`zzzzzzzz = 1\n${benchToml}`);
    expect(problem?.message).toBe(
      'zzzzzzzz is not a known key. Known here: studio, server, web, units, database, backups, alerts, tanks.',
    );
    expect(problem?.line).toBe(1);
  });

  it.each(['__proto__', 'constructor', 'prototype'])('named %s change nothing', (key) => {
    const problems = folder.refusals(`${benchToml}\n[${key}]\nmaxAmps = 400\n`);
    expect(problems.map((problem) => problem.field)).toEqual([key]);
    const nested = folder.refusals(
      benchToml.replace('maxAmps = 3', `maxAmps = 3\n${key}.maxAmps = 400`),
    );
    expect(nested.map((problem) => problem.field)).toEqual([`tanks[0].${key}`]);
    expect(({} as Record<string, unknown>)['maxAmps']).toBeUndefined();
  });
});

describe('files that cannot be read', () => {
  it('are named, with the line where the text stops being TOML', () => {
    const [problem] = folder.refusals(`${benchToml}\nbroken = = 3\n`);
    expect(problem?.line).toBe(benchToml.split('\n').length + 1);
    expect(problem?.message).toContain('not TOML');
    expect(problem?.file).toBe(folder.file);
  });

  it('are named when missing, a folder, or too large', () => {
    const absent = join(folder.path, 'absent.toml');
    const attempt = (configPath: string) => () =>
      loadSettings({ configPath, env: { HOME: folder.path } });
    expect(attempt(absent)).toThrow(absent);
    expect(attempt(folder.path)).toThrow(/cannot be read/);
    const large = folder.write('large.toml', '#'.repeat(1024 * 1024 + 1));
    expect(attempt(large)).toThrow(/larger than 1 MiB/);
  });

  it('never crash the loader: any text gives settings or a SettingsError', () => {
    const word = fc.constantFrom(...fragments);
    const noise = fc.oneof(
      fc.string({ unit: 'binary', maxLength: 200 }),
      fc.array(word, { maxLength: 40 }).map((words) => words.join(' ')),
      fc
        .tuple(fc.nat(benchToml.length), fc.nat(40), fc.array(word, { maxLength: 4 }))
        .map(
          ([at, cut, words]) =>
            benchToml.slice(0, at) + words.join(' ') + benchToml.slice(at + cut),
        ),
    );
    let refused = 0;
    fc.assert(
      fc.property(noise, (text) => {
        try {
          folder.load(text);
        } catch (error) {
          expect(error).toBeInstanceOf(SettingsError);
          refused += 1;
        }
      }),
      { numRuns: 400 },
    );
    expect(refused).toBeGreaterThan(200);
  });
});

describe('baths and dialects', () => {
  it('come from the shipped folders and from beside the settings, which win', () => {
    folder.write('baths/second-bath.toml', bathToml.replace('trial-copper', 'second-bath'));
    const ids = loadBaths({ HOME: folder.path }, folder.file).map((bath) => bath.id);
    expect(ids).toContain('trial-copper');
    expect(ids).toContain('second-bath');
    expect(ids).toEqual(ids.toSorted((left, right) => left.localeCompare(right)));
    expect(dialectNames({}, folder.file)).toContain('trial-dialect');
    expect(loadDialect('trial-dialect', {}, folder.file)).toEqual({ name: 'trial-dialect' });
    expect(() => loadDialect('trial-dialct', {}, folder.file)).toThrow(
      /no dialect "trial-dialct"\. Did you mean "trial-dialect"\?/,
    );
  });

  it.each([
    ['id = "trial-copper"', 'id = "other"', 'id', /like the name of its file/],
    ['value = 0.98', 'value = 1.2', 'efficiency.value', /it must be/],
    ['typicalAmpsPerDm2 = 1.5', 'typicalAmpsPerDm2 = 9', 'window.typicalAmpsPerDm2', /at most/],
    ['typicalAmpsPerDm2', 'typicalAmpsPerDM', 'window.typicalAmpsPerDM', /Did you mean/],
    ['copper-II', 'unobtainium', 'metal', /copper-II/],
  ])('refuse a bath file with %s turned into %s', (from, to, field, words) => {
    folder.write('baths/trial-copper.toml', bathToml.replace(from, to));
    const problems = folder.refusals(benchToml);
    expect(problems.map((problem) => problem.field)).toContain(field);
    expect(problems.find((problem) => problem.field === field)?.message).toMatch(words);
    expect(problems[0]?.file).toContain('trial-copper.toml');
    expect(problems[0]?.line).not.toBeNull();
  });

  it.each(['name = "Silver cyanide"', 'name = "Bright silver"'])(
    'refuse a cyanide bath by its name or its notes: %s',
    (name) => {
      const text = bathToml
        .replace('name = "Trial copper"', name)
        .replace('notes = []', 'notes = ["Made up with KCN."]');
      folder.write('baths/trial-copper.toml', text);
      const problems = folder.refusals(benchToml);
      expect(problems.at(-1)?.message).toMatch(/licensed/);
      expect(problems.some((problem) => problem.field === 'notes[0]')).toBe(true);
    },
  );
});
