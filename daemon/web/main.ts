/** The web process: forked by the sentinel, serves the page and its API, and can die without harm to a run. */

import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { pino } from 'pino';
import type { Logger } from 'pino';
import { connectControl } from '../control/door.ts';
import {
  controlSocketPath,
  databaseFile,
  loadBaths,
  loadMaterials,
  loadSettings,
  packageRoot,
  passphraseFile,
  readTls,
  requirePassphrase,
  sessionFile,
  SettingsError,
  tlsWarning,
} from '../settings/door.ts';
import type { LoadedSettings, TlsPair } from '../settings/door.ts';
import type { Material } from '../piece/material.ts';
import { openStoreReader, StoreError } from '../store/door.ts';
import type { StoreReader } from '../store/door.ts';
import { fromSentinelSchema } from '../wire/process.ts';
import type { ToSentinel } from '../wire/process.ts';
import { PortTakenError } from './server.ts';
import { startWeb } from './start.ts';

const exitConfig = 78;
const exitUnavailable = 69;
/** Longest an orderly end may take, ms. */
const endWithinMs = 1_800;

/** Tells the sentinel; without one, as when started by hand, tells the terminal. */
function tell(message: ToSentinel): Promise<void> {
  return new Promise((resolve) => {
    if (process.send !== undefined && process.connected) {
      process.send(message, () => resolve());
      return;
    }
    if (message.kind === 'listening') console.log(message.url);
    if (message.kind === 'cannot-start') console.error(message.message);
    resolve();
  });
}

async function cannotStart(message: string, exitCode: number): Promise<never> {
  await tell({ kind: 'cannot-start', message, exitCode });
  process.exit(exitCode);
}

interface ReadSettings extends LoadedSettings {
  readonly materials: readonly Material[];
  readonly tls: TlsPair | null;
}

async function readSettings(): Promise<ReadSettings> {
  const { values } = parseArgs({ options: { config: { type: 'string' } } });
  try {
    const loaded = loadSettings(values.config === undefined ? {} : { configPath: values.config });
    const { settings, file } = loaded;
    requirePassphrase(settings, file);
    const tls = settings.web.tls === null ? null : readTls(settings.web.tls, file);
    return { ...loaded, tls, materials: loadMaterials(process.env, file) };
  } catch (error) {
    if (error instanceof SettingsError) return cannotStart(error.message, exitConfig);
    throw error;
  }
}

async function openReader(file: string): Promise<StoreReader> {
  try {
    return openStoreReader(file);
  } catch (error) {
    if (error instanceof StoreError) return cannotStart(error.message, exitUnavailable);
    throw error;
  }
}

async function main(): Promise<void> {
  const level = process.env['NIGHTBATH_LOG'] ?? 'info';
  const log = pino({ name: 'web', level }, pino.destination({ dest: 2, sync: true }));
  process.on('uncaughtException', (error) => {
    log.fatal({ err: error }, 'The page server failed.');
    process.exit(1);
  });
  const closers: (() => Promise<void> | void)[] = [];
  obeySentinel(closers);
  const { settings, file, source, materials, tls } = await readSettings();
  const late = tls === null ? null : tlsWarning(tls, Date.now());
  if (late !== null) log.warn(late);
  const database = databaseFile(settings);
  const reader = await openReader(database);
  const control = connectControl(controlSocketPath(process.env, settings));
  const running = await startWeb({
    reader,
    control,
    settings,
    place: { file, source, databaseFile: database },
    baths: loadBaths(process.env, file),
    materials,
    passphraseFile: passphraseFile(settings),
    sessionFile: sessionFile(settings),
    tls,
    dashboardFolder: join(packageRoot(), 'dist', 'dashboard'),
    log,
    nowMs: () => Date.now(),
    validate: process.env['NODE_ENV'] === 'development',
  }).catch((error: unknown) => explain(error, settings.server.port, file, log));
  closers.push(
    () => running.close(),
    () => control.close(),
    () => reader.close(),
  );
  await tell({ kind: 'listening', url: running.url });
}

/** Ends in order when the sentinel says so or is gone. Ctrl-C is left to the sentinel. */
function obeySentinel(closers: readonly (() => Promise<void> | void)[]): void {
  let ending = false;
  const end = async (): Promise<void> => {
    if (ending) return;
    ending = true;
    setTimeout(() => process.exit(0), endWithinMs).unref();
    for (const close of closers) await close();
    process.exit(0);
  };
  for (const signal of ['SIGINT', 'SIGQUIT', 'SIGTSTP', 'SIGTTIN', 'SIGTTOU'] as const) {
    process.on(signal, () => undefined);
  }
  process.on('SIGTERM', () => void end());
  process.on('disconnect', () => void end());
  process.on('message', (message) => {
    const known = fromSentinelSchema.safeParse(message);
    if (known.success && known.data.kind === 'shut-down') void end();
  });
}

async function explain(error: unknown, port: number, file: string, log: Logger): Promise<never> {
  if (error instanceof PortTakenError) {
    const other = error.port < 65_535 ? error.port + 1 : error.port - 1;
    const message =
      `Port ${error.port} on this machine is taken, perhaps by a Nightbath that runs already. ` +
      `Stop that program, or set another port in ${file}: port = ${other} under [server].`;
    return cannotStart(message, exitUnavailable);
  }
  log.fatal({ err: error }, 'The page could not be served.');
  const why = error instanceof Error ? error.message : String(error);
  return cannotStart(`The page cannot be served on port ${port}: ${why}.`, exitUnavailable);
}

await main();
