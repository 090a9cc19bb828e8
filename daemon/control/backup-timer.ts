/** Ties the nightly copy of the log to the tanks, the disk and a timer. */

import { access, stat } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { isFinal } from '../run/state.ts';
import { backupFolder, databaseFile } from '../settings/door.ts';
import type { Settings } from '../settings/model.ts';
import { backUpAside, findBackups } from '../store/door.ts';
import { freeMegabytes } from './log-room.ts';
import { NightlyBackup } from './nightly-backup.ts';
import type { Tank } from './tank.ts';

const lookEveryMs = 60_000;
const bytesPerMegabyte = 1024 * 1024;

async function nearestFolder(folder: string): Promise<string> {
  const there = await access(folder).then(
    () => true,
    () => false,
  );
  return there || folder === dirname(folder) ? folder : await nearestFolder(dirname(folder));
}

/** A run that is armed, under way or lifted, or whose output was not read back as off. */
function isBusy({ run }: Tank): boolean {
  return run !== null && !(isFinal(run.state.lifecycle) && run.state.output === 'confirmedOff');
}

async function sizeMegabytes(file: string): Promise<number | null> {
  const sizes = await Promise.all(
    [file, `${file}-wal`].map(async (part) => (await stat(part).catch(() => null))?.size ?? 0),
  );
  const bytes = sizes.reduce((sum, size) => sum + size, 0);
  return bytes === 0 ? null : bytes / bytesPerMegabyte;
}

/** Nothing in it waits for a disk: a folder on the network that hangs must not hold the tanks up. */
export function nightlyBackups(
  settings: Settings,
  env: NodeJS.ProcessEnv,
  tanks: ReadonlyMap<string, Tank>,
  say: (sentence: string) => void,
): NightlyBackup {
  const database = databaseFile(settings, env);
  const folder = backupFolder(settings, env);
  const { keep } = settings.backups;
  return new NightlyBackup({
    settings: settings.backups,
    busy: () => [...tanks.values()].some(isBusy),
    kept: async () => findBackups(folder, database),
    logMegabytes: async () => sizeMegabytes(database),
    freeMegabytes: async () => freeMegabytes(join(await nearestFolder(folder), 'copy')),
    copy: () => backUpAside({ database, folder, keep }),
    say,
  });
}

/** From now on, for as long as this process lives; the timer alone does not keep it alive. */
export function startNightlyBackups(
  settings: Settings,
  tanks: ReadonlyMap<string, Tank>,
  say: (sentence: string) => void,
): void {
  const nightly = nightlyBackups(settings, process.env, tanks, say);
  setInterval(() => void nightly.look(performance.now(), Date.now()), lookEveryMs).unref();
}
