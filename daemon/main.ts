/** The daemon's entry: reads the settings, starts the sentinel, which starts the rest, and minds signals. */

import { fileURLToPath } from 'node:url';
import { exitCodes, startSentinel } from './sentinel/door.ts';
import { loadSettings, sentinelNoteFile } from './settings/door.ts';
import type { LoadedSettings } from './settings/door.ts';

export interface DaemonOptions {
  /** From --config; left out, the settings are looked for in the usual places. */
  readonly configPath?: string;
  /** From --port; left out, the settings decide. */
  readonly port?: number;
  readonly env?: NodeJS.ProcessEnv;
}

/**
 * Runs the bench until it is told to end; resolves with the exit code. Throws a SettingsError,
 * before any process is started, when the settings cannot be used. Both children get
 * `--config FILE`, and web also `--port N` when one was given.
 */
export async function runDaemon(options: DaemonOptions = {}): Promise<number> {
  const env = options.env ?? process.env;
  const loaded = loadSettings({
    env,
    ...(options.configPath === undefined ? {} : { configPath: options.configPath }),
  });
  const childArguments = ['--config', loaded.file];
  const portArguments = options.port === undefined ? [] : ['--port', String(options.port)];
  let servedUrl = '';
  const sentinel = startSentinel({
    controlScript: fileURLToPath(new URL('control/main.js', import.meta.url)),
    webScript: fileURLToPath(new URL('web/main.js', import.meta.url)),
    controlArguments: childArguments,
    webArguments: [...childArguments, ...portArguments],
    env,
    noteFile: sentinelNoteFile(env, loaded.settings),
    slowestCycleMs: Math.max(...loaded.settings.tanks.map((tank) => 1000 / tank.pollHz)),
    onServing: (url) => {
      if (url !== servedUrl) say(process.stdout, greeting(loaded, url));
      servedUrl = url;
    },
    say: (sentence) => say(process.stderr, sentence),
  });
  // A closed terminal must not end the process that has to switch off.
  process.stdout.on('error', () => {});
  process.stderr.on('error', () => {});
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) {
    process.on(signal, () => sentinel.interrupt());
  }
  process.on('uncaughtException', (error) => {
    sentinel.abandon();
    say(process.stderr, `The sentinel failed; OFF was sent: ${error.stack ?? error.message}`);
    process.exit(exitCodes.offNotConfirmed);
  });
  return sentinel.finished;
}

function greeting(loaded: LoadedSettings, url: string): string {
  const simulated = loaded.settings.tanks.map((tank) => tank.rectifier.link.kind === 'in-process');
  const lines = [`Nightbath is at ${url}`];
  if (simulated.every(Boolean)) {
    const subject = simulated.length === 1 ? 'The tank is' : 'All tanks are';
    lines.push(`${subject} simulated: no supply is touched.`);
  }
  lines.push('Ctrl-C switches off and ends it.');
  return lines.join('\n');
}

function say(stream: NodeJS.WriteStream, text: string): void {
  stream.write(`${text}\n`);
}
