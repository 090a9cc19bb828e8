/** Finds the settings file: flag, environment, the user's folder, the file shipped with the package. */

import { statSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { packageRoot, userConfigFolders } from './places.ts';

/** Where the settings came from; a flag that names the user's or the shipped file says so. */
export type SettingsSource = 'flag' | 'environment' | 'user' | 'shipped';

export interface FoundSettings {
  readonly file: string;
  readonly source: SettingsSource;
}

/** A file that was asked for by name is taken even when it is missing, so that the error names it. */
export function findSettingsFile(options: {
  readonly configPath?: string;
  readonly env?: NodeJS.ProcessEnv;
}): FoundSettings {
  const env = options.env ?? process.env;
  const shipped = join(packageRoot(), 'config', 'bench.toml');
  const own = userConfigFolders(env).map((folder) => resolve(folder, 'bench.toml'));
  const named = (file: string, source: SettingsSource): FoundSettings => {
    if (file === shipped) return { file, source: 'shipped' };
    return { file, source: own.includes(file) ? 'user' : source };
  };
  if (options.configPath !== undefined) return named(resolve(options.configPath), 'flag');
  const fromEnvironment = env['NIGHTBATH_CONFIG'];
  if (fromEnvironment !== undefined && fromEnvironment !== '') {
    return named(resolve(fromEnvironment), 'environment');
  }
  const user = own.find(isThere);
  return user === undefined ? { file: shipped, source: 'shipped' } : { file: user, source: 'user' };
}

/** True also for a file that is there but may not be read: falling back from it would be silent. */
function isThere(file: string): boolean {
  try {
    statSync(file);
    return true;
  } catch (error) {
    const code = error instanceof Error && 'code' in error ? error.code : null;
    return code !== 'ENOENT' && code !== 'ENOTDIR';
  }
}
