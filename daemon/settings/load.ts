/** Loads the settings of the bench and judges them as a whole: nothing is merged, nothing guessed. */

import { realpathSync } from 'node:fs';
import { dirname, isAbsolute, resolve } from 'node:path';
import { findSettingsFile } from './find.ts';
import type { SettingsSource } from './find.ts';
import { dialectNames, loadBaths } from './libraries.ts';
import type { AlertSettings, LinkSettings, Settings, TankSettings, TextOrSecret } from './model.ts';
import { didYouMean, SettingsError, showValue } from './problems.ts';
import type { SettingsProblem } from './problems.ts';
import { knownKeys, settingsSchema } from './schema.ts';
import { problemsFromIssues, readTomlFile, wrongValue } from './toml.ts';
import type { TomlFile } from './toml.ts';

export interface LoadedSettings {
  readonly settings: Settings;
  /** Absolute path of the file they came from. */
  readonly file: string;
  readonly source: SettingsSource;
}

/**
 * Reads the settings in the order --config, NIGHTBATH_CONFIG, the user's folder, the shipped file.
 * NIGHTBATH_PORT, when set, stands in for the port of the page. Paths come back absolute. Throws a SettingsError that holds every problem found.
 */
export function loadSettings(
  options: { readonly configPath?: string; readonly env?: NodeJS.ProcessEnv } = {},
): LoadedSettings {
  const env = options.env ?? process.env;
  const found = findSettingsFile(options);
  return { settings: judgeSettings(readTomlFile(found.file), env), ...found };
}

/** The settings that a text of this file holds. Throws a SettingsError that holds every problem found. */
export function judgeSettings(source: TomlFile, env: NodeJS.ProcessEnv): Settings {
  const result = settingsSchema.safeParse(source.value);
  if (!result.success) {
    throw new SettingsError(problemsFromIssues(source, result.error.issues, knownKeys));
  }
  const settings: Settings = { ...result.data, server: server(result.data, env) };
  const problems = [
    ...repeated(source, settings),
    ...repeatedSensors(source, settings),
    ...settings.tanks.flatMap((tank, index) => hurried(source, tank, index)),
    ...unknownNames(source, settings, env),
    ...unnamed(source, settings),
    ...repeatedChannels(source, settings),
  ];
  if (problems.length > 0) throw new SettingsError(problems);
  return withAbsolutePaths(settings, dirname(source.file));
}

function server(settings: Settings, env: NodeJS.ProcessEnv): Settings['server'] {
  const text = env['NIGHTBATH_PORT'];
  if (text === undefined || text === '') return settings.server;
  const port = /^\d{1,5}$/.test(text) ? Number(text) : NaN;
  if (port <= 65_535) return { port };
  const bound = 'a whole number from 0 to 65535';
  const message = `The port is ${showValue(text)}; it must be ${bound}.`;
  const field = 'NIGHTBATH_PORT';
  throw new SettingsError([{ file: field, line: null, field, value: text, bound, message }]);
}

/** Two tanks with one id, or on one supply: the second would fight the first over it. */
function repeated(source: TomlFile, settings: Settings): SettingsProblem[] {
  const problems: SettingsProblem[] = [];
  const ids = new Map<string, number>();
  const supplies = new Map<string, number>();
  for (const [index, tank] of settings.tanks.entries()) {
    const sameId = ids.get(tank.id);
    if (sameId !== undefined) {
      problems.push(wrongValue(source, ['tanks', index, 'id'], `unlike that of tanks[${sameId}]`));
    }
    ids.set(tank.id, sameId ?? index);
    const supply = supplyOf(tank.rectifier.link);
    const sameSupply = supply === null ? undefined : supplies.get(supply);
    if (sameSupply !== undefined) {
      const key = tank.rectifier.link.kind === 'serial' ? 'path' : 'port';
      const bound = `a supply of its own: tanks[${sameSupply}] has this one`;
      problems.push(wrongValue(source, ['tanks', index, 'rectifier', 'link', key], bound));
    }
    if (supply !== null) supplies.set(supply, sameSupply ?? index);
  }
  return problems;
}

/** Two sensors of one tank with one id, or a sensor on a line that is another's: its lines would be lost. */
function repeatedSensors(source: TomlFile, settings: Settings): SettingsProblem[] {
  const lines = new Map<string, string>();
  for (const [index, tank] of settings.tanks.entries()) {
    const supply = supplyOf(tank.rectifier.link);
    if (supply !== null) lines.set(supply, `the supply of tanks[${index}]`);
  }
  return settings.tanks.flatMap((tank, index) => {
    const ids = new Set<string>();
    return (tank.sensors ?? []).flatMap(({ id, link }, nth) => {
      const path = ['tanks', index, 'sensors', nth];
      const problems: SettingsProblem[] = [];
      if (ids.has(id)) {
        problems.push(wrongValue(source, [...path, 'id'], 'unlike that of another sensor here'));
      }
      ids.add(id);
      const line = supplyOf(link) ?? '';
      const owner = lines.get(line);
      if (owner !== undefined) {
        const key = link.kind === 'serial' ? 'path' : 'port';
        problems.push(
          wrongValue(source, [...path, 'link', key], `a line of its own: this is ${owner}`),
        );
      }
      lines.set(line, `tanks[${index}].sensors[${nth}]`);
      return problems;
    });
  });
}

/** What two tanks may not share; links are followed, as two names may mean one device. */
function supplyOf(link: LinkSettings): string | null {
  if (link.kind === 'in-process') return null;
  if (link.kind === 'tcp') return `tcp ${link.host.toLowerCase()} ${link.port}`;
  try {
    return `serial ${realpathSync(link.path)}`;
  } catch {
    return `serial ${link.path.replace(/^\\\\\.\\/, '').toUpperCase()}`;
  }
}

/** Served at every address of the machine, the page has to know by which names it may be asked for. */
function unnamed(source: TomlFile, { web }: Settings): SettingsProblem[] {
  const everywhere = web.listen.some((address) => address === '0.0.0.0' || address === '::');
  if (!everywhere || web.hostNames.length > 0) return [];
  const bound = 'at least one name or address, because the page is served at every address';
  return [wrongValue(source, ['web', 'hostNames'], bound)];
}

function hurried(source: TomlFile, tank: TankSettings, index: number): SettingsProblem[] {
  if (tank.timeScale === 1 || tank.rectifier.link.kind === 'in-process') return [];
  const bound =
    '1, because only the simulated supply in this process can run faster than the clock';
  return [wrongValue(source, ['tanks', index, 'timeScale'], bound)];
}

function unknownNames(
  source: TomlFile,
  settings: Settings,
  env: NodeJS.ProcessEnv,
): SettingsProblem[] {
  const baths = loadBaths(env, source.file).map((bath) => bath.id);
  const dialects = dialectNames(env, source.file);
  return settings.tanks.flatMap((tank, index) => {
    const problems: SettingsProblem[] = [];
    const missing = (path: PropertyKey[], name: string, known: readonly string[]) => {
      if (known.includes(name)) return;
      const bound = `one of ${known.join(', ')}`;
      problems.push(wrongValue(source, path, bound, didYouMean(name, known)));
    };
    missing(['tanks', index, 'bath'], tank.bath, baths);
    const { driver, dialect } = tank.rectifier;
    if (driver === 'scpi') {
      missing(['tanks', index, 'rectifier', 'dialect'], dialect, dialects);
    } else if (!/[/\\]|\.[cm]?js$/.test(driver)) {
      const bound = '"scpi" or the path of a module';
      problems.push(wrongValue(source, ['tanks', index, 'rectifier', 'driver'], bound));
    }
    return problems;
  });
}

/** A channel is known by its name, in commands and in the log. */
function repeatedChannels(source: TomlFile, settings: Settings): SettingsProblem[] {
  const names = settings.alerts.channels.map(({ name }) => name.toLowerCase());
  return names.flatMap((name, index) => {
    const first = names.indexOf(name);
    if (first === index) return [];
    const bound = `unlike that of alerts.channels[${first}]`;
    return [wrongValue(source, ['alerts', 'channels', index, 'name'], bound)];
  });
}

function withAbsolutePaths(settings: Settings, folder: string): Settings {
  const absolute = (path: string) => (isAbsolute(path) ? path : resolve(folder, path));
  const { file } = settings.database;
  const { folder: copies } = settings.backups;
  const { tls } = settings.web;
  const absoluteTls = tls && {
    ...tls,
    certFile: absolute(tls.certFile),
    keyFile: absolute(tls.keyFile),
  };
  return {
    ...settings,
    web: { ...settings.web, tls: absoluteTls },
    database: { file: file === null ? null : absolute(file) },
    backups: { ...settings.backups, folder: copies === null ? null : absolute(copies) },
    alerts: alertsWithPaths(settings.alerts, absolute),
    tanks: settings.tanks.map((tank) => {
      const { driver } = tank.rectifier;
      if (driver === 'scpi') return tank;
      return { ...tank, rectifier: { ...tank.rectifier, driver: absolute(driver) } };
    }),
  };
}

function alertsWithPaths(
  { channels, deadMan }: AlertSettings,
  absolute: (path: string) => string,
): AlertSettings {
  const secret = <T extends TextOrSecret | null>(source: T) =>
    source !== null && typeof source === 'object' && 'file' in source
      ? { ...source, file: absolute(source.file) }
      : source;
  return {
    deadMan: deadMan === null ? null : { url: secret(deadMan.url) },
    channels: channels.map((channel) => {
      switch (channel.kind) {
        case 'email': {
          const { certificateFile: file, password } = channel;
          const certificateFile = file === null ? null : absolute(file);
          return { ...channel, certificateFile, password: secret(password) };
        }
        case 'webhook': {
          const headers = Object.entries(channel.headers).map(([name, value]) => [
            name,
            secret(value),
          ]);
          return { ...channel, url: secret(channel.url), headers: Object.fromEntries(headers) };
        }
        case 'command':
          return { ...channel, program: absolute(channel.program) };
        case 'beeper':
          return channel;
      }
    }),
  };
}
