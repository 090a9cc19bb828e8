/** Finds the names of a serial device that stay with it when it comes back under another path. */

import { readdirSync, realpathSync } from 'node:fs';
import { join } from 'node:path';

/** Where the system keeps such names: by what the device says of itself, and by its socket. */
export const systemNameFolders = ['/dev/serial/by-id', '/dev/serial/by-path'] as const;

function target(path: string): string | null {
  try {
    return realpathSync(path);
  } catch {
    return null;
  }
}

function linksIn(folder: string): readonly string[] {
  try {
    return readdirSync(folder).map((name) => join(folder, name));
  } catch {
    // A computer without serial devices has no such folder.
    return [];
  }
}

/** The lasting names of the device behind a path, in the order of the folders; none is no error. */
export function lastingNames(path: string, folders: readonly string[]): readonly string[] {
  const device = target(path);
  if (device === null) return [];
  return folders.flatMap((folder) => linksIn(folder).filter((link) => target(link) === device));
}
