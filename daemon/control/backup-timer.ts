/** Ties the nightly copy of the log to the tanks, the disk and a timer. */

import { existsSync, statSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { isFinal } from '../run/state.ts';
import { backupFolder, databaseFile } from '../settings/door.ts';
import type { Settings } from '../settings/model.ts';
import { backUpAside, keptBackups } from '../store/door.ts';
import { freeMegabytes } from './log-room.ts';
import { NightlyBackup } from './nightly-backup.ts';
import type { Tank } from './tank.ts';

const lookEveryMs = 60_000;
const bytesPerMegabyte = 1024 * 1024;

function nearestFolder(folder: string): string {
  return existsSync(folder) || folder === dirname(folder) ? folder : nearestFolder(dirname(folder));
}

/** A run that is armed, under way or lifted, or whose output was not read back as off. */
function isBusy({ run }: Tank): boolean {
  return run !== null && !(isFinal(run.state.lifecycle) && run.state.output === 'confirmedOff');
}

function sizeMegabytes(file: string): number | null {
  const sizes = [file, `${file}-wal`].map(
    (part) => statSync(part, { throwIfNoEntry: false })?.size ?? 0,
  );
  const bytes = sizes.reduce((sum, size) => sum + size, 0);
  return bytes === 0 ? null : bytes / bytesPerMegabyte;
}

/** From now on, for as long as this process lives; the timer alone does not keep it alive. */
export function startNightlyBackups(
  settings: Settings,
  tanks: ReadonlyMap<string, Tank>,
  say: (sentence: string) => void,
): void {
  const database = databaseFile(settings, process.env);
  const folder = backupFolder(settings, process.env);
  const { keep } = settings.backups;
  const nightly = new NightlyBackup({
    settings: settings.backups,
    busy: () => [...tanks.values()].some(isBusy),
    kept: () => keptBackups(folder, database),
    logMegabytes: () => sizeMegabytes(database),
    freeMegabytes: () => freeMegabytes(join(nearestFolder(folder), 'copy')),
    copy: () => backUpAside({ database, folder, keep }),
    say,
  });
  setInterval(() => void nightly.look(performance.now(), Date.now()), lookEveryMs).unref();
}
