/** The copies of a log that were made by themselves: their names, which there are, and which may go. */

import { readdirSync, rmSync } from 'node:fs';
import { readdir } from 'node:fs/promises';
import { basename, dirname, extname, join } from 'node:path';
import { stamp } from './database.ts';

/** One copy in the folder of copies. */
export interface KeptBackup {
  readonly file: string;
  /** When it was made, by its name; ms since the epoch. */
  readonly wallMs: number;
}

function stemOf(database: string): string {
  return basename(database, extname(database));
}

/** The name of a copy that is made now. */
export function backupName(folder: string, database: string): string {
  return join(folder, `${stemOf(database)}-${stamp()}.nightly.sqlite`);
}

const timePattern = /^(\d{4})(\d{2})(\d{2})T(\d{2})(\d{2})(\d{2})Z/;

function stampWallMs(text: string): number | null {
  const parts = timePattern.exec(text);
  if (parts === null) return null;
  const [year = 0, month = 0, ...rest] = parts.slice(1).map(Number);
  const [day, hour, minute, second] = rest;
  const wallMs = Date.UTC(year, month - 1, day, hour, minute, second);
  return Number.isFinite(wallMs) ? wallMs : null;
}

const stampLength = '20260101T030000Z'.length;

function wallMsOf(name: string, database: string): number | null {
  const [start, end] = [`${stemOf(database)}-`, '.nightly.sqlite'];
  const length = start.length + stampLength + end.length;
  if (!name.startsWith(start) || !name.endsWith(end) || name.length !== length) return null;
  return stampWallMs(name.slice(start.length));
}

/** Those of the names that are copies of this database, the newest first. */
function copiesAmong(
  names: readonly string[],
  folder: string,
  database: string,
): readonly KeptBackup[] {
  return names
    .flatMap((name) => {
      const wallMs = wallMsOf(name, database);
      return wallMs === null ? [] : [{ file: join(folder, name), wallMs }];
    })
    .toSorted((left, right) => right.wallMs - left.wallMs);
}

/** The copies of this database in a folder, the newest first; none where there is no such folder. */
export function keptBackups(folder: string, database: string): readonly KeptBackup[] {
  try {
    return copiesAmong(readdirSync(folder), folder, database);
  } catch {
    return [];
  }
}

/** As `keptBackups`, for a loop that must not wait: a folder on the network may not answer for long. */
export async function findBackups(
  folder: string,
  database: string,
): Promise<readonly KeptBackup[]> {
  const names = await readdir(folder).catch(() => []);
  return copiesAmong(names, folder, database);
}

/**
 * Removes what is older than the newest `keep`; of other names nothing is touched. A damaged log beside
 * the database begins a new count: the last sound copy of it is among those made before, so of these
 * the newest `keep` stay too. Answers what went.
 */
export function removeOldBackups(
  folder: string,
  database: string,
  keep: number,
): readonly string[] {
  const damages = damagesWallMs(database);
  const counts = new Map<number, number>();
  const old = keptBackups(folder, database).filter(({ wallMs }) => {
    const damagesBefore = damages.filter((damageMs) => damageMs < wallMs).length;
    const newer = counts.get(damagesBefore) ?? 0;
    counts.set(damagesBefore, newer + 1);
    return newer >= keep;
  });
  for (const { file } of old) rmSync(file, { force: true });
  return old.map(({ file }) => file);
}

/** When the damaged logs beside the database were set aside, by their names. */
function damagesWallMs(database: string): readonly number[] {
  const start = `${basename(database)}.damaged-`;
  return readdirSync(dirname(database)).flatMap((name) => {
    const wallMs = name.startsWith(start) ? stampWallMs(name.slice(start.length)) : null;
    return wallMs === null ? [] : [wallMs];
  });
}
