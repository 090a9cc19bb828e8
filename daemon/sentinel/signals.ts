/** Binds the sentinel to the signals of its process, and to the failure of the process itself. */

import { exitCodes } from './supervisor.ts';
import type { Sentinel } from './supervisor.ts';

/** Ctrl-C, Ctrl-\\, a service's stop and a closed terminal all mean: switch off and end. */
const endingSignals = ['SIGINT', 'SIGQUIT', 'SIGTERM', 'SIGHUP'] as const;
/** Ctrl-Z and a terminal that is held back: nobody would watch, and the output would stay on. */
const pausingSignals = ['SIGTSTP', 'SIGTTIN'] as const;
const noPause = 'Nightbath cannot be paused: nobody would watch the output. Ctrl-C ends it.';

export function obeySignals(sentinel: Sentinel, say: (sentence: string) => void): void {
  // A closed terminal must not end the process that has to switch off.
  process.stdout.on('error', () => {});
  process.stderr.on('error', () => {});
  for (const signal of endingSignals) process.on(signal, () => sentinel.interrupt());
  for (const signal of pausingSignals) process.on(signal, () => say(noPause));
  process.on('uncaughtException', (error) => {
    sentinel.abandon();
    say(`The sentinel failed; OFF was sent where a line is held. ${error.stack ?? error.message}`);
    process.exit(exitCodes.offNotConfirmed);
  });
}
