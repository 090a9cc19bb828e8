/** `nightbath verify`: looks at settings, database, rights, clock, dialects, ports and alert channels, one line each; changes and switches nothing. */

import { accessSync, constants, existsSync, statfsSync } from 'node:fs';
import { dirname } from 'node:path';
import { parseDialect } from '../../drivers/registry.ts';
import type { Settings, TankSettings } from '../settings/model.ts';
import {
  databaseFile,
  loadBaths,
  loadDialect,
  loadMaterials,
  loadSettings,
  readTls,
  requirePassphrase,
  SettingsError,
  tlsWarning,
} from '../settings/door.ts';
import { tryStayAwake } from '../sentinel/door.ts';
import { lookAtDatabase, StoreError } from '../store/door.ts';
import { configOption, configPathOf, exitCodes, jsonOption } from './command.ts';
import type { Call, Command } from './command.ts';
import { portObstacle } from './ports.ts';
import { table } from './table.ts';
import { channelFindings } from './verify-alerts.ts';
import { check, type Finding, type Line } from './verify-line.ts';
import { nearestFolder, placeLines } from './verify-place.ts';

/** Below this much room for the log a person should know, bytes; a night takes about 12 MB. */
const littleRoomBytes = 200 * 1024 * 1024;
const noRoomBytes = 20 * 1024 * 1024;

function databaseLines(file: string): readonly Line[] {
  const { database } = exitCodes;
  return [
    check('database', database, () => {
      const { kind, detail } = lookAtDatabase(file);
      if (kind !== 'damaged') return { word: 'ok', found: `${file}: ${detail}` };
      const remedy =
        'the next start keeps it under another name and begins a fresh log; with the daemon stopped, "nightbath restore FILE" puts your newest backup in its place';
      return { word: 'wrong', found: `${file}: ${detail}; ${remedy}` };
    }),
    check('room for the log', database, () => roomAt(nearestFolder(dirname(file)))),
  ];
}

function roomAt(folder: string): Finding {
  try {
    accessSync(folder, constants.W_OK);
  } catch {
    const found = `${folder} may not be written by you: no log can be kept there`;
    return { word: 'wrong', found };
  }
  const { bavail, bsize } = statfsSync(folder);
  const bytes = bavail * bsize;
  const found = `${Math.floor(bytes / 1024 / 1024).toLocaleString('en')} MB free in ${folder}`;
  if (bytes < noRoomBytes) return { word: 'wrong', found: `${found}; a night takes about 12 MB` };
  return { word: bytes < littleRoomBytes ? 'look' : 'ok', found };
}

function tankLines(call: Call, tank: TankSettings, settingsFile: string): readonly Line[] {
  const { env } = call.terminal;
  const { rectifier } = tank;
  return [
    check(`${tank.id}: bath`, exitCodes.settings, () => {
      const bath = loadBaths(env, settingsFile).find(({ id }) => id === tank.bath);
      if (bath === undefined) return { word: 'wrong', found: `there is no bath "${tank.bath}"` };
      return { word: 'ok', found: bath.name };
    }),
    check(`${tank.id}: dialect`, exitCodes.settings, () => {
      const dialect = parseDialect(loadDialect(rectifier.dialect, env, settingsFile));
      return guardsOf(dialect);
    }),
    check(`${tank.id}: line`, exitCodes.supplyNotReachable, () => lineOf(rectifier.link)),
  ];
}

/** What the supply does not guard by itself ends with the computer. */
function guardsOf({ name, ops }: ReturnType<typeof parseDialect>): Finding {
  const levels = [
    { guards: 'over-voltage', set: ops.setOverVoltage, enable: ops.enableOverVoltage },
    { guards: 'over-current', set: ops.setOverCurrent, enable: ops.enableOverCurrent },
  ].filter(({ set }) => set !== undefined);
  const holds = levels.map(({ guards }) => guards);
  const byHand = levels.filter(({ enable }) => enable === undefined).map(({ guards }) => guards);
  const switches =
    byHand.length === 0
      ? ''
      : `; where its panel has a switch for ${byHand.join(' and ')}, have it on`;
  if (holds.length === 2) {
    return { word: 'ok', found: `${name}; the supply itself guards both${switches}` };
  }
  const rest = `${holds.join('') || 'nothing'}: Nightbath alone watches the rest`;
  return { word: 'look', found: `${name}; the supply itself guards ${rest}${switches}` };
}

function lineOf(link: TankSettings['rectifier']['link']): Finding {
  switch (link.kind) {
    case 'in-process':
      return { word: 'ok', found: 'simulated; no supply is touched' };
    case 'tcp':
      return { word: 'look', found: `tcp://${link.host}:${link.port}; not tried from here` };
    case 'serial':
      return serialLine(link.path);
  }
}

/** Takes the lock for a moment; only current that goes on without this process has to be watched. */
function sleepLines(call: Call, settings: Settings): readonly Line[] {
  if (settings.tanks.every((tank) => tank.rectifier.link.kind === 'in-process')) return [];
  const { held, reason } = tryStayAwake(call.terminal.env);
  const found = held
    ? 'this computer is kept awake while a run is armed or on'
    : `nothing keeps this computer from going to sleep in mid-run, which ends the run: ${reason}`;
  const word = held ? 'ok' : 'look';
  return [{ what: 'sleep', code: exitCodes.done, word, found }];
}

function serialLine(path: string): Finding {
  if (!existsSync(path)) {
    return { word: 'wrong', found: `${path} is not there. "nightbath ports" lists what is.` };
  }
  const obstacle = portObstacle(path);
  if (obstacle !== null) return { word: 'wrong', found: `${path}: ${obstacle}` };
  const lasting = path.startsWith('/dev/serial/by-id/') || !path.startsWith('/dev/tty');
  return lasting
    ? { word: 'ok', found: `${path} is there; it was not opened` }
    : { word: 'look', found: `${path} may change its name; use the one under /dev/serial/by-id/` };
}

function linesOf(call: Call, settings: Settings, file: string): readonly Line[] {
  const { env } = call.terminal;
  return [
    { what: 'settings', code: exitCodes.settings, word: 'ok', found: file },
    check('materials', exitCodes.settings, () => ({
      word: 'ok',
      found: `${loadMaterials(env, file).length} rows`,
    })),
    check('baths', exitCodes.settings, () => ({
      word: 'ok',
      found: `${loadBaths(env, file).length} of them`,
    })),
    ...databaseLines(databaseFile(settings, env)),
    ...placeLines(settings, env, databaseFile(settings, env)),
    check('page', exitCodes.settings, () => pageAt(settings, file, env)),
    ...settings.tanks.flatMap((tank) => tankLines(call, tank, file)),
    ...sleepLines(call, settings),
  ];
}

/** Who can reach the page, and whether what that needs is in place. */
function pageAt(settings: Settings, file: string, env: NodeJS.ProcessEnv): Finding {
  requirePassphrase(settings, file, env);
  const { listen, hostNames, signInHere, tls } = settings.web;
  const warning = tls === null ? null : tlsWarning(readTls(tls, file), Date.now());
  if (warning !== null) return { word: 'look', found: warning };
  const others = [...listen, ...hostNames].join(', ');
  const here = signInHere ? ', everybody signs in' : '';
  if (others === '') return { word: 'ok', found: `served on this machine only${here}` };
  const plain = `served at ${others} over plain http: who shares the network can read along`;
  return tls === null
    ? { word: 'look', found: plain }
    : { word: 'ok', found: `served at ${others} over https${here}` };
}

async function gather(call: Call): Promise<readonly Line[]> {
  try {
    const { settings, file } = loadSettings({ env: call.terminal.env, ...configPathOf(call) });
    const channels = await channelFindings(settings, call.terminal.env);
    return [
      ...linesOf(call, settings, file),
      ...channels.map((line) => ({ ...line, code: exitCodes.failed })),
    ];
  } catch (error) {
    if (!(error instanceof SettingsError || error instanceof StoreError)) throw error;
    return [{ what: 'settings', code: exitCodes.settings, word: 'wrong', found: error.message }];
  }
}

async function run(call: Call): Promise<number> {
  const lines = await gather(call);
  if (call.switches.has('json')) {
    const checks = lines.map(({ word, what, found }) => ({ state: word, what, found }));
    call.terminal.print(JSON.stringify({ checks }, null, 2));
  } else {
    call.terminal.print(
      table(
        ['', 'what', 'found'],
        lines.map(({ word, what, found }) => [word, what, found]),
      ),
    );
  }
  return lines.find(({ word }) => word === 'wrong')?.code ?? exitCodes.done;
}

export const verifyCommand: Command = {
  words: [],
  options: { json: jsonOption, config: configOption },
  notes: [
    '"ok" is well, "look" wants a thought, "wrong" keeps a night from being safe or from starting. ' +
      'Nothing is opened, changed or switched; the lock that keeps this computer awake is tried.',
  ],
  run,
};
