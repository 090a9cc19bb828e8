/** The copies of a log that were made by themselves: their names, which there are, and which may go. */

import { readdirSync, rmSync, statSync } from 'node:fs';
import { basename, dirname, extname, join } from 'node:path';
import { stamp } from './database.ts';

/** One copy in the folder of copies. */
export interface KeptBackup {
  readonly file: string;
  /** When it was made, by its name; ms since the epoch. */
  readonly wallMs: number;
  readonly bytes: number;
}

function stemOf(database: string): string {
  return basename(database, extname(database));
}

/** The name of a copy that is made now. */
export function backupName(folder: string, database: string): string {
  return join(folder, `${stemOf(database)}-${stamp()}.nightly.sqlite`);
}

const timePattern = /^(\d{4})(\d{2})(\d{2})T(\d{2})(\d{2})(\d{2})Z$/;

function wallMsOf(name: string, database: string): number | null {
  const [start, end] = [`${stemOf(database)}-`, '.nightly.sqlite'];
  if (!name.startsWith(start) || !name.endsWith(end)) return null;
  const parts = timePattern.exec(name.slice(start.length, -end.length));
  if (parts === null) return null;
  const [year = 0, month = 0, ...rest] = parts.slice(1).map(Number);
  const [day, hour, minute, second] = rest;
  const wallMs = Date.UTC(year, month - 1, day, hour, minute, second);
  return Number.isFinite(wallMs) ? wallMs : null;
}

/** The copies of this database in a folder, the newest first; none where there is no such folder. */
export function keptBackups(folder: string, database: string): readonly KeptBackup[] {
  let names: readonly string[];
  try {
    names = readdirSync(folder);
  } catch {
    return [];
  }
  return names
    .flatMap((name) => {
      const wallMs = wallMsOf(name, database);
      const file = join(folder, name);
      const bytes = wallMs === null ? undefined : statSync(file, { throwIfNoEntry: false })?.size;
      return wallMs === null || bytes === undefined ? [] : [{ file, wallMs, bytes }];
    })
    .toSorted((left, right) => right.wallMs - left.wallMs);
}

/**
 * Removes what is older than the newest `keep`; of other names nothing is touched. While a damaged log
 * lies beside the database nothing goes: the last sound copy of it may be among them. Answers what went.
 */
export function removeOldBackups(
  folder: string,
  database: string,
  keep: number,
): readonly string[] {
  if (wasDamaged(database)) return [];
  const old = keptBackups(folder, database).slice(keep);
  for (const { file } of old) rmSync(file, { force: true });
  return old.map(({ file }) => file);
}

function wasDamaged(database: string): boolean {
  return readdirSync(dirname(database)).some((name) =>
    name.startsWith(`${basename(database)}.damaged-`),
  );
}
