/** `nightbath rectifier`: serves the simulated supply with a cell behind it. */

import { runSimulatedRectifier } from '../../drivers/simulated/rectifier.ts';
import type { RectifierRunOptions } from '../../drivers/simulated/rectifier.ts';
import { exitCodes, UsageError, wholeNumber } from './command.ts';
import type { Call, Command } from './command.ts';

const personalities = ['scpi-subsystem', 'scpi-channel-list', 'vset-iset', 'fixed-length'] as const;
const paints = ['none', 'silver', 'copper', 'graphite'] as const;

function oneOf<Name extends string>(
  call: Call,
  option: string,
  names: readonly [Name, ...Name[]],
): Name {
  const given = call.values[option] ?? names[0];
  const found = names.find((name) => name === given);
  if (found !== undefined) return found;
  throw new UsageError(`--${option} is "${given}"; it must be one of ${names.join(', ')}.`);
}

function area(call: Call): { readonly areaDm2?: number } {
  const text = call.values['area'];
  if (text === undefined) return {};
  const value = /^\d{1,4}(?:\.\d{1,6})?$/.test(text) ? Number(text) : NaN;
  if (value >= 0.001 && value <= 100) return { areaDm2: value };
  throw new UsageError(`--area is "${text}"; it must be a number from 0.001 to 100 dm2.`);
}

function line(call: Call): RectifierRunOptions['line'] {
  const port = wholeNumber(call, 'tcp', 0, 65_535);
  if ((port !== null) === call.switches.has('stdio')) {
    throw new UsageError('Give one of --tcp PORT and --stdio.');
  }
  return port === null ? { kind: 'stdio' } : { kind: 'tcp', port };
}

async function run(call: Call): Promise<number> {
  const controlPort = wholeNumber(call, 'control-port', 0, 65_535);
  const seed = wholeNumber(call, 'seed', 0, 4_294_967_295);
  const running = await runSimulatedRectifier({
    line: line(call),
    personality: oneOf(call, 'dialect', personalities),
    cell: { paint: oneOf(call, 'paint', paints), ...area(call) },
    notice: (text) => call.terminal.complain(text),
    ...(controlPort === null ? {} : { controlPort }),
    ...(seed === null ? {} : { seed }),
  });
  const end = () => void running.close();
  process.once('SIGINT', end);
  process.once('SIGTERM', end);
  await running.ended;
  return exitCodes.done;
}

export const rectifierCommand: Command = {
  words: [],
  options: {
    tcp: { value: 'PORT', help: 'listen on this port of this machine, 0 for a free one' },
    stdio: { help: 'speak on standard input and output, as a pseudo-terminal wants it' },
    dialect: { value: 'NAME', help: `how it words its commands: ${personalities.join(', ')}` },
    paint: { value: 'NAME', help: `paint on the piece: ${paints.join(', ')}` },
    area: { value: 'DM2', help: 'area of the piece once it is covered, 0.001 to 100 dm2' },
    seed: { value: 'N', help: 'seed of its noise, 0 to 4294967295' },
    'control-port': {
      value: 'N',
      help: 'side door for tests: faults and the truth, as JSON lines',
    },
  },
  notes: [
    'To try a real serial line without a supply, join it to a pseudo-terminal with socat, and give ' +
      'that path in the settings:',
    '  socat pty,raw,echo=0,link=/tmp/supply EXEC:"nightbath rectifier --stdio"',
  ],
  run,
};
