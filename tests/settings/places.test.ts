/** Where settings, database and control socket are looked for, by system and environment. */

import { existsSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import {
  controlSocketPath,
  databaseFile,
  loadSettings,
  packageRoot,
  sentinelNoteFile,
  stateFolder,
  userConfigFolders,
} from '../../daemon/settings/door.ts';
import { BenchFolder, bathToml, benchToml } from './bench-folder.ts';

const flagged = new BenchFolder();
const fromEnvironment = new BenchFolder(benchToml.replace('Trial bench', 'From the environment'));
const home = new BenchFolder();
afterAll(() => [flagged, fromEnvironment, home].forEach((folder) => folder.remove()));

const port = (text: string) =>
  loadSettings({ configPath: flagged.file, env: { HOME: home.path, NIGHTBATH_PORT: text } })
    .settings.server.port;

describe('the search for settings', () => {
  home.write('.config/nightbath/baths/trial-copper.toml', bathToml);
  home.write('.config/nightbath/dialects/trial-dialect.toml', 'name = "trial-dialect"\n');
  const userFile = home.write(
    '.config/nightbath/bench.toml',
    benchToml.replace('Trial bench', 'From the user'),
  );

  it('takes the flag before all else', () => {
    const loaded = loadSettings({
      configPath: flagged.file,
      env: { HOME: home.path, NIGHTBATH_CONFIG: fromEnvironment.file },
    });
    expect([loaded.settings.studio, loaded.source]).toEqual(['Trial bench', 'flag']);
  });

  it('then the environment', () => {
    const loaded = loadSettings({
      env: { HOME: home.path, NIGHTBATH_CONFIG: fromEnvironment.file },
    });
    expect([loaded.settings.studio, loaded.source]).toEqual([
      'From the environment',
      'environment',
    ]);
  });

  it("then the user's folder", () => {
    const loaded = loadSettings({ env: { HOME: home.path, NIGHTBATH_CONFIG: '' } });
    expect([loaded.file, loaded.source]).toEqual([userFile, 'user']);
  });

  it("knows the user's file also when it comes by flag", () => {
    const loaded = loadSettings({ configPath: userFile, env: { HOME: home.path } });
    expect(loaded.source).toBe('user');
  });

  it('lets NIGHTBATH_PORT stand in for the port of the page, within its bounds', () => {
    expect([port('0'), port('65535'), port('')]).toEqual([0, 65_535, 0]);
    for (const text of ['65536', '-1', '80.5', 'http', '1e3', ' 80']) {
      expect(() => port(text)).toThrow(/NIGHTBATH_PORT.*whole number from 0 to 65535/);
    }
  });

  it('does not fall back from a named file that is missing', () => {
    const absent = join(home.path, 'absent.toml');
    expect(() => loadSettings({ env: { HOME: home.path, NIGHTBATH_CONFIG: absent } })).toThrow(
      absent,
    );
  });

  it('ends at the shipped file, which is ready to run', () => {
    const loaded = loadSettings({ env: { HOME: flagged.path } });
    expect(loaded.source).toBe('shipped');
    expect(loaded.file).toBe(join(packageRoot(), 'config', 'bench.toml'));
    expect(loaded.settings.tanks.map((tank) => tank.rectifier.link.kind)).toEqual(['in-process']);
  });
});

describe('places', () => {
  it('of the package hold its package.json', () => {
    expect(existsSync(join(packageRoot(), 'package.json'))).toBe(true);
  });

  it.each<[NodeJS.Platform, NodeJS.ProcessEnv, string]>([
    ['linux', { HOME: '/home/a' }, '/home/a/.local/state/nightbath'],
    ['linux', { HOME: '/home/a', XDG_STATE_HOME: '/s' }, '/s/nightbath'],
    ['linux', { HOME: '/home/a', STATE_DIRECTORY: '/var/lib/nightbath' }, '/var/lib/nightbath'],
    ['linux', { HOME: '/home/a', STATE_DIRECTORY: '/one:/two' }, '/one'],
    ['darwin', { HOME: '/Users/a' }, '/Users/a/Library/Application Support/nightbath'],
    ['win32', { LOCALAPPDATA: '/appdata' }, '/appdata/nightbath'],
  ])('of state on %s with %j are %s', (platform, env, expected) => {
    expect(stateFolder(env, platform)).toBe(expected);
  });

  it.each<[NodeJS.Platform, NodeJS.ProcessEnv, readonly string[]]>([
    ['linux', { HOME: '/home/a' }, ['/home/a/.config/nightbath']],
    ['linux', { HOME: '/home/a', XDG_CONFIG_HOME: '/c' }, ['/c/nightbath']],
    [
      'linux',
      { HOME: '/home/a', CONFIGURATION_DIRECTORY: '/etc/nightbath' },
      ['/etc/nightbath', '/home/a/.config/nightbath'],
    ],
    [
      'darwin',
      { HOME: '/Users/a' },
      ['/Users/a/.config/nightbath', '/Users/a/Library/Preferences/nightbath'],
    ],
    ['win32', { APPDATA: '/roaming' }, ['/roaming/nightbath']],
  ])('of settings on %s with %j are %s', (platform, env, expected) => {
    expect(userConfigFolders(env, platform)).toEqual(expected);
  });

  const settings = flagged.load().settings;
  const ownFile = { ...settings, database: { file: '/data/own.sqlite' } };
  const env = { HOME: '/home/a' };

  it('of the database are the state folder or the named file', () => {
    expect(databaseFile(settings, env)).toBe('/home/a/.local/state/nightbath/nightbath.sqlite');
    expect(databaseFile(ownFile, env)).toBe('/data/own.sqlite');
  });

  it('of the control socket are short enough for every system', () => {
    expect(controlSocketPath(env, settings, 'linux')).toBe(
      '/home/a/.local/state/nightbath/control.sock',
    );
    const deep = controlSocketPath({ STATE_DIRECTORY: `/${'d'.repeat(120)}` }, settings, 'linux');
    expect(deep.startsWith(tmpdir())).toBe(true);
    expect(Buffer.byteLength(deep)).toBeLessThanOrEqual(100);
    expect(controlSocketPath(env, settings, 'win32')).toMatch(
      /^\\\\\.\\pipe\\nightbath-[0-9a-f]{16}$/,
    );
  });

  it('of two benches with databases of their own do not meet', () => {
    const other = { ...settings, database: { file: '/data/other.sqlite' } };
    const places = [settings, ownFile, other].map((one) => [
      controlSocketPath(env, one, 'linux'),
      sentinelNoteFile(env, one),
    ]);
    expect(new Set(places.flat()).size).toBe(6);
  });
});
