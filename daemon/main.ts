/** The daemon's entry: reads the settings, starts the sentinel, which starts the rest, and minds signals. */

import { fileURLToPath } from 'node:url';
import * as z from 'zod/mini';
import { SentinelVoice } from './alerts/door.ts';
import {
  exitCodes,
  obeySignals,
  startAnew,
  startSentinel,
  type Sentinel,
} from './sentinel/door.ts';
import {
  alertSpoolFile,
  changeWatch,
  guardBookFile,
  loadDialect,
  loadSettings,
  readEditable,
  sentinelNoteFile,
} from './settings/door.ts';
import type { LoadedSettings } from './settings/door.ts';

export interface DaemonOptions {
  /** From --config; left out, the settings are looked for in the usual places. */
  readonly configPath?: string;
  /** From --port; left out, the settings decide. */
  readonly port?: number;
  readonly env?: NodeJS.ProcessEnv;
}

/** A bench that has been started; its pages and its control may still be coming up. */
export interface StartedBench {
  readonly sentinel: Sentinel;
  readonly loaded: LoadedSettings;
  /** What the sentinel says outside. */
  readonly voice: SentinelVoice;
  /** Lets go of the signals of this process, once the sentinel has finished. */
  readonly letGo: () => void;
}

/**
 * Starts the bench with this process as its sentinel. Throws a SettingsError, before any process is
 * started, when the settings cannot be used. Both children get the file as `--config FILE` and as
 * NIGHTBATH_CONFIG, and the port, when one was given, as NIGHTBATH_PORT.
 */
export function startBench(
  options: DaemonOptions,
  tell: {
    readonly serving: (loaded: LoadedSettings, url: string) => void;
    readonly say: (sentence: string) => void;
  },
): StartedBench {
  const given = options.env ?? process.env;
  const port = options.port === undefined ? {} : { NIGHTBATH_PORT: String(options.port) };
  const loaded = loadSettings({
    env: { ...given, ...port },
    ...(options.configPath === undefined ? {} : { configPath: options.configPath }),
  });
  const env = { ...given, ...port, NIGHTBATH_CONFIG: loaded.file };
  const childArguments = ['--config', loaded.file];
  const spoolFile = alertSpoolFile(env, loaded.settings);
  const voice = new SentinelVoice({ settings: loaded.settings, env, spoolFile, say: tell.say });
  const sentinel = startSentinel({
    controlScript: fileURLToPath(new URL('control/main.js', import.meta.url)),
    webScript: fileURLToPath(new URL('web/main.js', import.meta.url)),
    controlArguments: childArguments,
    webArguments: childArguments,
    env,
    noteFile: sentinelNoteFile(env, loaded.settings),
    bookFile: guardBookFile(env, loaded.settings),
    hardLimits: new Map(loaded.settings.tanks.map((tank) => [tank.id, tank])),
    slowestCycleMs: slowestCycleMs(loaded, env),
    settingsChanged: changeWatch(loaded.file, env),
    onServing: (url) => tell.serving(loaded, url),
    say: tell.say,
    tell: (word) => voice.tell(word),
  });
  voice.watch(() => sentinel.isControlWell());
  const letGo = obeySignals(sentinel, tell.say);
  return { sentinel, loaded, voice, letGo };
}

/**
 * Runs the bench until it is told to end; resolves with the exit code. Where it ended to take changed
 * settings over, it starts anew in this process, with `start`. Throws as `startBench`.
 */
export async function runDaemon(options: DaemonOptions = {}, start = startBench): Promise<number> {
  let servedUrl = '';
  const tell: Parameters<typeof startBench>[1] = {
    serving: (now, url) => {
      if (url !== servedUrl) say(process.stdout, greeting(now, url));
      servedUrl = url;
    },
    say: (sentence) => say(process.stderr, sentence),
  };
  let bench = start(options, tell);
  for (;;) {
    const { sentinel, voice, loaded, letGo } = bench;
    const exitCode = await sentinel.finished;
    await voice.close(lastWordsWithinMs);
    if (exitCode !== startAnew) return exitCode;
    // The last words take their time: who asked to leave meanwhile is not answered by a new start.
    if (sentinel.isInterrupted) return exitCodes.clean;
    letGo();
    try {
      bench = start({ ...options, ...changedPlace(loaded, options, servedUrl) }, tell);
    } catch (error) {
      await tellOfNoStart(voice, error);
      throw error;
    }
  }
}

/** The bench that was ended does not come up again: whoever counts on it hears of that by the settings it had. */
async function tellOfNoStart(voice: SentinelVoice, error: unknown): Promise<void> {
  const text = error instanceof Error ? error.message : String(error);
  voice.tell({ grave: false, title: 'Nightbath could not start', text });
  await voice.close(lastWordsWithinMs);
}

/** The file to start anew on, and the port that open pages know where the settings leave it to chance. */
function changedPlace(loaded: LoadedSettings, options: DaemonOptions, url: string): DaemonOptions {
  const env = options.env ?? process.env;
  const configPath = readEditable({ configPath: loaded.file, env }).file;
  const { settings } = loadSettings({ configPath, env });
  const chance = (options.port ?? settings.server.port) === 0 && url !== '';
  return { configPath, ...(chance && { port: Number(new URL(url).port) }) };
}

/** What is being said when all is over is let finish for this long, ms: one try. */
const lastWordsWithinMs = 11_000;

/** A tank is polled as often as its settings wish and as its supply's dialect can bear. */
function slowestCycleMs(loaded: LoadedSettings, env: NodeJS.ProcessEnv): number {
  const cycles = loaded.settings.tanks.map(({ pollHz, rectifier }) => {
    if (rectifier.driver !== 'scpi') return 1000 / pollHz;
    const dialect = loadDialect(rectifier.dialect, env, loaded.file);
    return Math.max(1000 / pollHz, leastCycleMs(dialect));
  });
  return Math.max(...cycles);
}

/** The dialect's own word, from its raw file; the driver judges the file as a whole. */
function leastCycleMs(dialect: unknown): number {
  const least = z.object({ session: z.object({ minimumCycleMs: z.number() }) }).safeParse(dialect);
  return least.success ? least.data.session.minimumCycleMs : 0;
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
