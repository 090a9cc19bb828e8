/** Binds the sentinel to the signals of its process, and to the failure of the process itself. */

import { exitCodes } from './supervisor.ts';
import type { Sentinel } from './supervisor.ts';

/** Ctrl-C, Ctrl-\\, a service's stop and a closed terminal all mean: switch off and end. */
const endingSignals = ['SIGINT', 'SIGQUIT', 'SIGTERM', 'SIGHUP'] as const;
/** Ctrl-Z and a terminal that is held back: nobody would watch, and the output would stay on. */
const pausingSignals = ['SIGTSTP', 'SIGTTIN'] as const;
const noPause = 'Nightbath cannot be paused: nobody would watch the output. Ctrl-C ends it.';

/** Returns what lets go of them again, for a sentinel that has ended. */
export function obeySignals(sentinel: Sentinel, say: (sentence: string) => void): () => void {
  // A closed terminal must not end the process that has to switch off.
  const ignored = (): void => {};
  const end = (): void => sentinel.interrupt();
  const pause = (): void => say(noPause);
  const failed = (error: Error): void => {
    sentinel.abandon();
    say(`The sentinel failed; OFF was sent where a line is held. ${error.stack ?? error.message}`);
    process.exit(exitCodes.offNotConfirmed);
  };
  process.stdout.on('error', ignored);
  process.stderr.on('error', ignored);
  for (const signal of endingSignals) process.on(signal, end);
  for (const signal of pausingSignals) process.on(signal, pause);
  process.on('uncaughtException', failed);
  return () => {
    process.stdout.off('error', ignored);
    process.stderr.off('error', ignored);
    for (const signal of endingSignals) process.off(signal, end);
    for (const signal of pausingSignals) process.off(signal, pause);
    process.off('uncaughtException', failed);
  };
}
