/** The control process: the only one that talks to supplies and the only one that writes. */

import { pino } from 'pino';
import { listSerialPorts } from '../../drivers/registry.ts';
import { clearSentinelNotes, readSentinelNotes } from '../sentinel/door.ts';
import {
  controlSocketPath,
  databaseFile,
  loadBaths,
  loadSettings,
  sentinelNoteFile,
  SettingsError,
} from '../settings/door.ts';
import { openStoreWriter } from '../store/door.ts';
import type { ControlMessage } from '../wire/command.ts';
import { CommandDesk } from './commands.ts';
import { sentinelGuardian, type Guardian } from './guardian.ts';
import { Heartbeat } from './heartbeat.ts';
import { recover } from './recovery.ts';
import { ControlSocket } from './socket-server.ts';
import { buildTank } from './tank-parts.ts';
import type { Tank } from './tank.ts';

const log = pino({ name: 'control' }, pino.destination({ dest: 2, sync: true }));
/** The order in which a shutdown ends whatever happens, ms. */
const shutDownWithinMs = 9_000;

async function run(guardian: Guardian): Promise<void> {
  const loaded = loadSettings(
    process.env['NIGHTBATH_CONFIG'] === undefined
      ? {}
      : { configPath: process.env['NIGHTBATH_CONFIG'] },
  );
  const { settings, file } = loaded;
  const baths = loadBaths(process.env, file);
  const store = await openStoreWriter({
    file: databaseFile(settings, process.env),
    onNotice: (sentence) => log.warn(sentence),
  });
  const tanks = new Map<string, Tank>();
  let publish: (message: ControlMessage) => void = () => undefined;
  const heartbeat = new Heartbeat(
    settings.tanks.map((tank) => tank.id),
    (tick) => guardian.beat(tick),
  );
  for (const tank of settings.tanks) {
    const parts = {
      store,
      guardian,
      publish: (message: ControlMessage) => publish(message),
      judged: (tankId: string) => heartbeat.judged(tankId),
    };
    tanks.set(tank.id, await buildTank(tank, file, baths, parts));
  }
  const noteFile = sentinelNoteFile(process.env, settings);
  await recover(tanks, store, readSentinelNotes(noteFile), Date.now());
  clearSentinelNotes(noteFile);
  const desk = new CommandDesk({ tanks, baths, store, listPorts: listSerialPorts });
  const socket = new ControlSocket(
    controlSocketPath(process.env, settings),
    (request) => desk.answer(request),
    () => [...tanks.values()].map((tank) => ({ type: 'tank', tank: tank.snapshot() })),
  );
  await socket.listen();
  publish = (message) => socket.publish(message);

  const close = closer(tanks, store, socket);
  const end = async (reason: string, code: (offConfirmed: boolean) => number): Promise<void> => {
    const offConfirmed = await close(reason);
    if (code === inOrder) guardian.stopped(offConfirmed);
    leave(code(offConfirmed));
  };
  guardian.onShutDown(() => void end('Nightbath was shut down.', inOrder));
  guardian.onLost(() => {
    log.error('The sentinel is gone. Everything is switched off.');
    void end('The sentinel was lost.', (offConfirmed) => (offConfirmed ? 1 : 70));
  });
  const crash = (error: unknown): void => {
    log.fatal(error instanceof Error ? error : new Error(String(error)));
    void end('The control process failed.', () => 1);
  };
  process.on('uncaughtException', crash);
  process.on('unhandledRejection', crash);
  for (const tank of tanks.values()) tank.start();
  guardian.ready();
}

/** The sentinel is told whether the output is confirmed off, and says so with its own exit code. */
const inOrder = (): number => 0;

/** One shutdown, however often it is asked for; every tank is switched off even where one fails. */
function closer(
  tanks: ReadonlyMap<string, Tank>,
  store: { close(): Promise<void> },
  socket: ControlSocket,
): (reason: string) => Promise<boolean> {
  let closing: Promise<boolean> | null = null;
  const closeAll = async (reason: string): Promise<boolean> => {
    const timer = setTimeout(() => leave(70), shutDownWithinMs);
    timer.unref();
    const closed = await Promise.allSettled([...tanks.values()].map((tank) => tank.close(reason)));
    await Promise.allSettled([store.close(), socket.close()]);
    return closed.every((one) => one.status === 'fulfilled' && one.value);
  };
  return (reason) => (closing ??= closeAll(reason));
}

/** Leaves once what was said to the sentinel is on its way. */
function leave(code: number): void {
  setTimeout(() => process.exit(code), 20);
}

// Ctrl-C reaches every process of the group; only the sentinel acts on it.
process.on('SIGINT', () => undefined);
process.on('SIGTERM', () => undefined);

const guardian = sentinelGuardian(process);
run(guardian).catch((error: unknown) => {
  const message = error instanceof Error ? error.message : String(error);
  guardian.cannotStart(message, error instanceof SettingsError ? 78 : 1);
  log.fatal(message);
  leave(error instanceof SettingsError ? 78 : 1);
});
