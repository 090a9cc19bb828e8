/** `nightbath serve`: runs the bench until it is told to end. */

import { runDaemon } from '../main.ts';
import { configOption, configPathOf, wholeNumber } from './command.ts';
import type { Call, Command } from './command.ts';

async function run(call: Call): Promise<number> {
  const port = wholeNumber(call, 'port', 0, 65_535);
  return runDaemon({
    env: call.terminal.env,
    ...configPathOf(call),
    ...(port === null ? {} : { port }),
  });
}

export const serveCommand: Command = {
  words: [],
  options: {
    config: configOption,
    port: { value: 'N', help: 'port of the page on this machine, 0 for a free one' },
  },
  notes: [
    'Ctrl-C or SIGTERM switches every output off, reads that back, and ends it. A second one ends ' +
      'the control process by force and switches off from outside it.',
    'Without settings of your own it runs the shipped bench, whose tank is simulated.',
  ],
  run,
};
