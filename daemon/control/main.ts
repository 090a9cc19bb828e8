/** The control process: the only one that talks to supplies and the only one that writes. */

import { uptime } from 'node:os';
import { pino } from 'pino';
import { listSerialPorts } from '../../drivers/registry.ts';
import type { AlertDesk } from '../alerts/door.ts';
import { clearSentinelNotes, readBootClocks, readSentinelNotes } from '../sentinel/door.ts';
import {
  controlSocketPath,
  databaseFile,
  guestVariable,
  loadBaths,
  loadMaterials,
  loadSettings,
  sentinelNoteFile,
  SettingsError,
} from '../settings/door.ts';
import type { LoadedSettings } from '../settings/door.ts';
import { damageIsTold, type StoreWriter } from '../store/door.ts';
import type { ControlMessage } from '../wire/command.ts';
import { alertDesk } from './alert-office.ts';
import { BringUpDesk } from './bring-up-desk.ts';
import { CheckDesk } from './check-desk.ts';
import { ClockWatch } from './clock-watch.ts';
import { CommandDesk } from './commands.ts';
import { sentinelGuardian, type SentinelGuardian } from './guardian.ts';
import { Heartbeat } from './heartbeat.ts';
import { InterruptedRuns } from './interrupted.ts';
import { LogHealth } from './log-health.ts';
import { openLog, type LogTrouble } from './log-opening.ts';
import { freeMegabytes } from './log-room.ts';
import { ProbeBook } from './probe-book.ts';
import { isDamageOnRecord, recover, recoverBlind } from './recovery.ts';
import { reportOf } from './report.ts';
import { startNightlyBackups } from './backup-timer.ts';
import { BenchTakenError, ControlSocket } from './socket-server.ts';
import type { TankNeeds } from './tank-needs.ts';
import { SettingsDesk } from './settings-desk.ts';
import { buildTank } from './tank-parts.ts';
import type { Tank } from './tank.ts';
import { Vigil } from './vigil.ts';
import { within } from './within.ts';

const log = pino({ name: 'control' }, pino.destination({ dest: 2, sync: true }));
/** A tank that is not closed by then counts as not confirmed off, ms. */
const shutDownWithinMs = 7_000;
/** A start-up that is under way is waited for this long, ms; it is part of the time above. */
const startWithinMs = 4_000;
/** What else a tank holds, and then database and socket, are left as they are after this time, ms. */
const releaseWithinMs = 1_200;
const closeFilesWithinMs = 1_200;
/** A message that is on its way is let finish for this long, ms. */
const tellWithinMs = 1_000;

/** What a shutdown must close; it may be asked for before there is anything. */
interface Opened {
  tanks: ReadonlyMap<string, Tank>;
  store: { close(): Promise<void> } | null;
  socket: ControlSocket | null;
  alerts: AlertDesk | null;
  /** What the last process left on is known. */
  recovered: boolean;
}

async function run(
  guardian: SentinelGuardian,
  opened: Opened,
  ending: () => boolean,
): Promise<void> {
  const loaded = loadSettings(
    process.env['NIGHTBATH_CONFIG'] === undefined
      ? {}
      : { configPath: process.env['NIGHTBATH_CONFIG'] },
  );
  const { settings, file } = loaded;
  const baths = loadBaths(process.env, file);
  const onNotice = (sentence: string): void => log.warn(sentence);
  const { store, trouble } = await openLog(databaseFile(settings, process.env), onNotice);
  opened.store = store;
  const tanks = new Map<string, Tank>();
  const alerts = alertDesk(settings, store, tanks, onNotice);
  opened.alerts = alerts;
  opened.tanks = tanks;
  let publish: (message: ControlMessage) => void = () => undefined;
  const tell = (message: ControlMessage): void => publish(message);
  const interrupted = new InterruptedRuns({ store, tanks, baths, publish: tell, onNotice });
  await buildTanks(tanks, loaded, baths, { store, guardian, alerts, publish: tell, interrupted });
  await alerts.open();
  await takeUp(tanks, settings, store, trouble);
  opened.recovered = true;
  await interrupted.refresh();
  const book = new ProbeBook(store);
  await book.load();
  let table: ReturnType<typeof loadMaterials> | null = null;
  const desk = new CommandDesk({
    tanks,
    baths,
    // Read when it is first asked for: no mistake in it keeps the outputs from being watched.
    materials: () => (table ??= loadMaterials(process.env, file)),
    store,
    interrupted,
    book,
    checks: checkDesk(store, book, databaseFile(settings, process.env), alerts),
    listPorts: listSerialPorts,
    alerts,
    settings: settingsDesk(tanks, file, guardian),
    publish: tell,
    bringUp: new BringUpDesk({ tanks, env: process.env, settingsFile: file }),
  });
  const socket = new ControlSocket(
    controlSocketPath(process.env, settings),
    (request) => desk.answer(request),
    () => pictureOf(tanks, interrupted),
  );
  await socket.listen();
  opened.socket = socket;
  publish = (message) => socket.publish(message);
  // Asked to leave while it was coming up: no tank is taken into service any more.
  if (ending()) return;
  for (const tank of tanks.values()) tank.start();
  if (trouble?.kind !== 'lost' && !isGuest()) startNightlyBackups(settings, tanks, onNotice);
  guardian.ready();
}

/** This bench writes into the log of another one, and leaves to it what stands there already. */
function isGuest(): boolean {
  return process.env[guestVariable] === '1';
}

/** What the last process left: closed, owed, told. */
async function takeUp(
  tanks: ReadonlyMap<string, Tank>,
  settings: LoadedSettings['settings'],
  store: StoreWriter,
  trouble: LogTrouble | null,
): Promise<void> {
  const noteFile = sentinelNoteFile(process.env, settings);
  // The notes are about the tanks of the bench whose log this is.
  const notes = isGuest() ? [] : readSentinelNotes(noteFile);
  const wallMs = Date.now();
  const bootedWallMs = wallMs - uptime() * 1000;
  await recover(tanks, store, notes, wallMs, {
    guest: isGuest(),
    bootedWallMs,
    bootClocks: readBootClocks,
  });
  if (trouble !== null) recoverBlind(tanks, trouble, isGuest());
  if (trouble?.kind === 'damaged' && !isGuest() && (await isDamageOnRecord(tanks, store))) {
    damageIsTold(databaseFile(settings, process.env));
  }
  // What they say is on record now, unless nothing can be recorded.
  if (trouble?.kind !== 'lost' && !isGuest()) clearSentinelNotes(noteFile);
}

function settingsDesk(
  tanks: ReadonlyMap<string, Tank>,
  file: string,
  guardian: SentinelGuardian,
): SettingsDesk {
  const startAnew = (): void => guardian.startAnew();
  return new SettingsDesk({ tanks, file, env: process.env, startAnew });
}

/** What somebody who has just connected is shown. */
function pictureOf(
  tanks: ReadonlyMap<string, Tank>,
  interrupted: InterruptedRuns,
): readonly ControlMessage[] {
  return [
    ...[...tanks.values()].map((tank) => ({ type: 'tank' as const, tank: tank.snapshot() })),
    { type: 'interrupted', runs: [...interrupted.waiting] },
  ];
}

function checkDesk(
  store: StoreWriter,
  book: ProbeBook,
  file: string,
  alerts: AlertDesk,
): CheckDesk {
  return new CheckDesk({
    health: new LogHealth(store),
    book,
    freeMegabytes: () => freeMegabytes(file),
    alertReadiness: () => alerts.readiness(),
    clockWatch: new ClockWatch(),
  });
}

/** The tanks of the settings, each of whose ticks is a beat for the sentinel, and a look at it. */
async function buildTanks(
  tanks: Map<string, Tank>,
  { settings, file }: LoadedSettings,
  baths: ReturnType<typeof loadBaths>,
  shared: {
    readonly store: StoreWriter;
    readonly guardian: SentinelGuardian;
    readonly alerts: AlertDesk;
    readonly publish: (message: ControlMessage) => void;
    readonly interrupted: InterruptedRuns;
  },
): Promise<void> {
  const { guardian, interrupted } = shared;
  const ids = settings.tanks.map((tank) => tank.id);
  const heartbeat = new Heartbeat(ids, (tick) =>
    guardian.beat(tick, [...tanks.values()].map(reportOf)),
  );
  const vigil = new Vigil(guardian, tanks);
  const judged = (tankId: string): void => {
    heartbeat.judged(tankId);
    vigil.look();
  };
  const tellWay: SentinelGuardian['way'] = (...way) => guardian.way(...way);
  const onStarted: TankNeeds['onStarted'] = ({ record, startedBy }) =>
    void interrupted.carriedOn(record, startedBy);
  const onSettled = (): void => void interrupted.refresh();
  for (const tank of settings.tanks) {
    const parts = { ...shared, judged, onStarted, onSettled, onWay: tellWay };
    tanks.set(tank.id, await buildTank(tank, file, baths, parts));
  }
}

/** The sentinel is told whether the output is confirmed off, and says so with its own exit code. */
const inOrder = (): number => 0;

/**
 * One shutdown, however often it is asked for; every tank is switched off even where one fails. What
 * is said of the output comes from the tanks alone: a disk that hangs changes nothing about it.
 */
function closer(
  opened: Opened,
  started: () => Promise<void>,
): (reason: string) => Promise<boolean> {
  let closing: Promise<boolean> | null = null;
  const closeAll = async (reason: string): Promise<boolean> => {
    const endMs = performance.now() + shutDownWithinMs;
    // Half a start-up knows nothing of the outputs: it is let finish first, without a tank in service.
    await within(
      started().catch(() => undefined),
      startWithinMs,
      undefined,
    );
    const closed = await Promise.allSettled(
      [...opened.tanks.values()].map((tank) =>
        within(tank.close(reason), endMs - performance.now(), false),
      ),
    );
    const released = [...opened.tanks.values()].map((tank) => tank.release());
    const { store, socket, alerts } = opened;
    // The end of a run is being told meanwhile; what is not by then is told after the next start.
    const told = alerts?.close(tellWithinMs);
    await within(Promise.allSettled([...released, told]), releaseWithinMs, undefined);
    await within(
      Promise.allSettled([store?.close(), socket?.close()]),
      closeFilesWithinMs,
      undefined,
    );
    return opened.recovered && closed.every((one) => one.status === 'fulfilled' && one.value);
  };
  return (reason) => (closing ??= closeAll(reason));
}

/** Leaves once what was said to the sentinel is on its way. */
function leave(code: number): void {
  setTimeout(() => process.exit(code), 20);
}

// A terminal's keys and its end reach every process of the group: only the sentinel acts on them. A
// pause, above all, would leave the output on with nobody to watch it.
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP', 'SIGQUIT'] as const) {
  process.on(signal, () => undefined);
}
for (const signal of ['SIGTSTP', 'SIGTTIN', 'SIGTTOU'] as const)
  process.on(signal, () => undefined);

// Before anything is opened: whoever asks to leave, or leaves us alone, is heard from the first moment.
const guardian = sentinelGuardian(process);
const opened: Opened = {
  tanks: new Map(),
  store: null,
  socket: null,
  alerts: null,
  recovered: false,
};
const close = closer(opened, () => started);
let ending = false;
const end = async (reason: string, code: (offConfirmed: boolean) => number): Promise<void> => {
  ending = true;
  const offConfirmed = await close(reason);
  if (code === inOrder) guardian.stopped(offConfirmed);
  leave(code(offConfirmed));
};
const lost = (): void => {
  log.error('The sentinel is gone. Everything is switched off.');
  void end('The sentinel was lost.', (offConfirmed) => (offConfirmed ? 1 : 70));
};
const crash = (error: unknown): void => {
  log.fatal(error instanceof Error ? error : new Error(String(error)));
  void end('The control process failed.', () => 1);
};
process.on('uncaughtException', crash);
process.on('unhandledRejection', crash);
guardian.onShutDown(() => void end('Nightbath was shut down.', inOrder));
guardian.onLost(lost);

const started = run(guardian, opened, () => ending);
// The sentinel may have died before anybody listened for it.
if (!process.connected) lost();
started.catch((error: unknown) => {
  // Whatever fails while everything is being closed, the closing itself answers.
  if (ending) return;
  void giveUp(error);
});

/** What the last process may have left on is switched off all the same, unless another one answers for it. */
async function giveUp(error: unknown): Promise<void> {
  if (!(error instanceof BenchTakenError)) await close('Nightbath could not be started.');
  const message = error instanceof Error ? error.message : String(error);
  const code = error instanceof SettingsError ? 78 : 1;
  guardian.cannotStart(message, code);
  log.fatal(message);
  leave(code);
}
