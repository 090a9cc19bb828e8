/** What `nightbath verify` finds of the place it runs in: folders and rights, old damage, the clock, the sentinel's note. */

import { accessSync, constants, existsSync, readdirSync, statSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { readSentinelNotes } from '../sentinel/door.ts';
import { backupFolder, sentinelNoteFile, stateFolder } from '../settings/door.ts';
import type { Settings } from '../settings/model.ts';
import { keptBackups, openStoreReader } from '../store/door.ts';
import { exitCodes } from './command.ts';
import { check, type Finding, type Line } from './verify-line.ts';

/** The nearest folder on the way to one that need not be there yet. */
export function nearestFolder(folder: string): string {
  return existsSync(folder) ? folder : nearestFolder(dirname(folder));
}

/** This program was not there before; a clock that says otherwise was never set. */
const earliestWallMs = Date.UTC(2025, 0, 1);
const hourMs = 3_600_000;

function mayWrite(folder: string): boolean {
  try {
    accessSync(folder, constants.W_OK);
    return true;
  } catch {
    return false;
  }
}

/** Where the control socket, the sentinel's note and, by default, the log lie. */
function stateLine(folder: string): Finding {
  const nearest = nearestFolder(folder);
  if (mayWrite(nearest)) {
    const found = nearest === folder ? folder : `${folder}; it is made at the first start`;
    return { word: 'ok', found };
  }
  return {
    word: 'wrong',
    found: `${nearest} may not be written by you. Run this as the user of the service, or give the folder to that user (chown), or see whether the disk is mounted read-only.`,
  };
}

/** A log that another user began would fail at the first start under this one. */
function ownerLine(file: string): Finding {
  const own = process.getuid?.();
  const stat = statSync(file, { throwIfNoEntry: false });
  if (own === undefined || stat === undefined) {
    return { word: 'ok', found: 'nobody else owns the log' };
  }
  if (stat.uid === own) return { word: 'ok', found: 'the log is yours' };
  const who = `the log belongs to the user with id ${stat.uid}, and you are ${own}`;
  const remedy = 'run Nightbath as one user only, the one of the service';
  return { word: mayWrite(file) ? 'look' : 'wrong', found: `${who}: ${remedy}` };
}

/** What earlier starts have set aside; none of it is ever removed by itself. */
function damageLine(file: string): Finding {
  const folder = dirname(file);
  const kept = existsSync(folder)
    ? readdirSync(folder).filter(
        (name) => name.startsWith(`${basename(file)}.damaged-`) && !/-(?:wal|shm)$/.test(name),
      )
    : [];
  if (kept.length === 0) return { word: 'ok', found: 'no damaged log was ever set aside' };
  return {
    word: 'look',
    found: `${kept.map((name) => join(folder, name)).join(', ')}: damaged, and kept. Earlier runs are in it or in your newest backup (nightbath restore FILE, with the daemon stopped); remove it once you need it no more.`,
  };
}

function clockLine(file: string, nowMs: number): Finding {
  const shown = new Date(nowMs).toISOString().slice(0, 16).replace('T', ' ');
  if (nowMs < earliestWallMs) {
    return { word: 'wrong', found: `${shown} UTC; the clock is not set. Set it, or wait for it.` };
  }
  const reader = openStoreReader(file);
  try {
    const [newest] = reader.runs({ limit: 1 });
    const aheadMs = (newest?.armedWallMs ?? 0) - nowMs;
    if (aheadMs > hourMs) {
      const hours = Math.round(aheadMs / hourMs);
      return {
        word: 'wrong',
        found: `${shown} UTC; the newest run is ${hours} h later. Set the clock: times in the log, and "done by", go by it.`,
      };
    }
  } catch {
    // What is wrong with the log stands in its own line.
  } finally {
    reader.close();
  }
  return { word: 'ok', found: `${shown} UTC` };
}

/** What the sentinel had to do while control was dead, until the next start puts it on record. */
function noteLine(file: string): Finding {
  const notes = readSentinelNotes(file);
  if (notes.length === 0) return { word: 'ok', found: 'the sentinel left no note' };
  const open = new Set(
    notes.flatMap(({ tanks }) => tanks.filter((one) => !one.offConfirmed).map((one) => one.tankId)),
  );
  const last = notes.at(-1)?.found ?? '';
  if (open.size === 0) {
    return {
      word: 'look',
      found: `${last} Every output was confirmed off; the next start logs it.`,
    };
  }
  return {
    word: 'wrong',
    found: `${last} The output of ${[...open].join(', ')} was not confirmed off: look at that supply now, or run "nightbath off".`,
  };
}

/** A night without a copy may have been one long run, or one with the computer off; several ask for a look. */
const oldAfterMs = 3 * 24 * hourMs;

function ageOf(ms: number): string {
  const hours = Math.max(0, Math.round(ms / hourMs));
  if (hours < 1) return 'less than an hour old';
  return hours < 48 ? `${hours} h old` : `${Math.round(hours / 24)} days old`;
}

/** The newest copy of the log, by itself or in the folder of the settings. */
function backupLine({ backups }: Settings, file: string, folder: string, nowMs: number): Finding {
  const [newest, ...others] = keptBackups(folder, file);
  const more = others.length === 0 ? '' : `, with ${others.length} more beside it`;
  const copy = newest && `the newest copy of the log is ${ageOf(nowMs - newest.wallMs)}${more}`;
  if (!backups.nightly) {
    const found = `${copy === undefined ? '' : `${copy}; `}no copies are made by themselves ([backups] nightly = false): make them with "nightbath backup"`;
    return { word: 'look', found };
  }
  if (newest === undefined || copy === undefined) {
    const found = `no copy of the log yet in ${folder}; one is made at night while no run is under way`;
    return { word: existsSync(file) ? 'look' : 'ok', found };
  }
  const found = `${copy}: ${newest.file}`;
  if (nowMs - newest.wallMs <= oldAfterMs) return { word: 'ok', found };
  const why =
    'one is made each night while Nightbath runs, no run is under way and there is room for it';
  return { word: 'look', found: `${found}; ${why}` };
}

/** One line for each, in the order of the list. */
export function placeLines(
  settings: Settings,
  env: NodeJS.ProcessEnv,
  databaseFile: string,
): readonly Line[] {
  const { database, offNotConfirmed, failed } = exitCodes;
  return [
    check('damage', database, () => damageLine(databaseFile)),
    check('backup', database, () =>
      backupLine(settings, databaseFile, backupFolder(settings, env), Date.now()),
    ),
    check('state folder', database, () => stateLine(stateFolder(env))),
    check('user', database, () => ownerLine(databaseFile)),
    check('clock', failed, () => clockLine(databaseFile, Date.now())),
    check('sentinel', offNotConfirmed, () => noteLine(sentinelNoteFile(env, settings))),
  ];
}
