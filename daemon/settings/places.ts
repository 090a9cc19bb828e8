/** Where things live: the package, the settings, the database, the control socket. */

import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { homedir, tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Settings } from './model.ts';

type Environment = NodeJS.ProcessEnv;

/** Longest Unix socket path that every system takes: macOS allows 103 bytes, Linux 107. */
const longestSocketPathBytes = 100;

let knownRoot: string | null = null;

/** The folder of this package, found upward by name, from the sources and from dist/ alike. */
export function packageRoot(): string {
  if (knownRoot !== null) return knownRoot;
  let folder = dirname(fileURLToPath(import.meta.url));
  for (;;) {
    if (holdsPackage(folder)) {
      knownRoot = folder;
      return folder;
    }
    const parent = dirname(folder);
    if (parent === folder) throw new Error('The folder of the nightbath package was not found.');
    folder = parent;
  }
}

function holdsPackage(folder: string): boolean {
  try {
    const text = readFileSync(join(folder, 'package.json'), 'utf8');
    const description: unknown = JSON.parse(text);
    return (
      typeof description === 'object' &&
      description !== null &&
      'name' in description &&
      description.name === 'nightbath'
    );
  } catch {
    return false;
  }
}

/** A variable's value; an empty one counts as not set. */
function given(env: Environment, name: string): string | null {
  const value = env[name];
  return value === undefined || value === '' ? null : value;
}

/** systemd gives its folders as a list with colons; the first is ours. */
function serviceFolder(env: Environment, name: string): string | null {
  return given(env, name)?.split(':')[0] ?? null;
}

function home(env: Environment): string {
  return given(env, 'HOME') ?? given(env, 'USERPROFILE') ?? homedir();
}

/** Folders that may hold the user's own bench.toml, the preferred one first. */
export function userConfigFolders(
  env: Environment,
  platform: NodeJS.Platform = process.platform,
): readonly [string, ...string[]] {
  const service = serviceFolder(env, 'CONFIGURATION_DIRECTORY');
  const xdg = join(given(env, 'XDG_CONFIG_HOME') ?? join(home(env), '.config'), 'nightbath');
  const own: [string, ...string[]] =
    platform === 'win32'
      ? [join(given(env, 'APPDATA') ?? join(home(env), 'AppData', 'Roaming'), 'nightbath')]
      : platform === 'darwin'
        ? [xdg, join(home(env), 'Library', 'Preferences', 'nightbath')]
        : [xdg];
  return service === null ? own : [service, ...own];
}

/** Folder of the database, the control socket and the sentinel's note. Not created here. */
export function stateFolder(
  env: Environment = process.env,
  platform: NodeJS.Platform = process.platform,
): string {
  const service = serviceFolder(env, 'STATE_DIRECTORY');
  if (service !== null) return resolve(service);
  const xdg = given(env, 'XDG_STATE_HOME');
  if (xdg !== null) return resolve(xdg, 'nightbath');
  if (platform === 'win32') {
    return join(given(env, 'LOCALAPPDATA') ?? join(home(env), 'AppData', 'Local'), 'nightbath');
  }
  if (platform === 'darwin') return join(home(env), 'Library', 'Application Support', 'nightbath');
  return join(home(env), '.local', 'state', 'nightbath');
}

/** The database: the settings' own file, or `nightbath.sqlite` in the state folder. */
export function databaseFile(settings: Settings, env: Environment = process.env): string {
  return settings.database.file ?? join(stateFolder(env), 'nightbath.sqlite');
}

/**
 * Set to 1 for a bench that is a guest in the log of another one, such as that of a bring-up: it writes
 * what it does itself and leaves all that stood there before to the bench whose log it is.
 */
export const guestVariable = 'NIGHTBATH_GUEST';

/** Where the copies of the log lie: the settings' own folder, or `backups` beside the database. */
export function backupFolder(settings: Settings, env: Environment = process.env): string {
  return settings.backups.folder ?? join(dirname(databaseFile(settings, env)), 'backups');
}

function shortHash(text: string): string {
  return createHash('sha256').update(text).digest('hex').slice(0, 16);
}

/**
 * Two benches of one user differ in their database, so what lies beside the default database keeps
 * its plain name, and a bench with a file of its own gets a name of its own.
 */
function benchFileName(settings: Settings, stem: string, ending: string): string {
  const own = settings.database.file;
  return own === null ? `${stem}.${ending}` : `${stem}-${shortHash(own)}.${ending}`;
}

/**
 * Address of the control process: a Unix socket in the state folder, a short hashed name in the
 * temporary folder where that path would be too long, or a named pipe on Windows.
 */
export function controlSocketPath(
  env: Environment,
  settings: Settings,
  platform: NodeJS.Platform = process.platform,
): string {
  const path = join(stateFolder(env, platform), benchFileName(settings, 'control', 'sock'));
  if (platform === 'win32') return `\\\\.\\pipe\\nightbath-${shortHash(path)}`;
  if (Buffer.byteLength(path) <= longestSocketPathBytes) return path;
  return join(tmpdir(), `nightbath-${shortHash(path)}.sock`);
}

/** Where the sentinel leaves word of what it found and did while control was dead. */
export function sentinelNoteFile(env: Environment, settings: Settings): string {
  return join(stateFolder(env), benchFileName(settings, 'sentinel-note', 'json'));
}

/** Where the sentinel writes down what would have to be switched off if it died with control. */
export function guardBookFile(env: Environment, settings: Settings): string {
  return join(stateFolder(env), benchFileName(settings, 'sentinel-guards', 'json'));
}

/** Where the sentinel keeps what is still to be said while control is dead. */
export function alertSpoolFile(env: Environment, settings: Settings): string {
  return join(stateFolder(env), benchFileName(settings, 'sentinel-alerts', 'json'));
}

/** The hashes of the passphrases; `nightbath passphrase` writes it. */
export function passphraseFile(settings: Settings, env: Environment = process.env): string {
  return join(stateFolder(env), benchFileName(settings, 'passphrases', 'json'));
}

/** Who is signed in: hashes of tokens, so that a restart of the page signs nobody out. */
export function sessionFile(settings: Settings, env: Environment = process.env): string {
  return join(stateFolder(env), benchFileName(settings, 'sessions', 'json'));
}
