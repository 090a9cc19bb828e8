/** `nightbath ports`: the serial devices a supply may hang on, and whether they may be opened. */

import { accessSync, constants, readFileSync, statSync } from 'node:fs';
import { listSerialPorts } from '../../drivers/registry.ts';
import type { SerialPortEntry } from '../../drivers/registry.ts';
import { exitCodes, jsonOption } from './command.ts';
import type { Call, Command } from './command.ts';
import { table } from './table.ts';

interface Port extends SerialPortEntry {
  /** Why this user may not open it; null when it may. */
  readonly obstacle: string | null;
}

/** Why this user may not open a port; null where it may. Nothing is opened: that can reset what hangs on it. */
export function portObstacle(path: string): string | null {
  try {
    accessSync(path, constants.R_OK | constants.W_OK);
    return null;
  } catch {
    const group = groupOf(path);
    return group === null
      ? 'you may not open it'
      : `you may not open it; join the group ${group}, then log out and in`;
  }
}

function groupOf(path: string): string | null {
  try {
    const { gid } = statSync(path);
    const lines = readFileSync('/etc/group', 'utf8').split('\n');
    return (
      lines.map((line) => line.split(':')).find((parts) => parts[2] === String(gid))?.[0] ?? null
    );
  } catch {
    return null;
  }
}

async function run(call: Call): Promise<number> {
  const found = await listSerialPorts();
  const ports: Port[] = found.map((port) => ({ ...port, obstacle: portObstacle(port.path) }));
  const { terminal } = call;
  if (call.switches.has('json')) {
    terminal.print(JSON.stringify({ ports }, null, 2));
    return exitCodes.done;
  }
  if (ports.length === 0) {
    terminal.print(
      'No serial device was found. Plug the supply in and look again; a supply on the network is ' +
        'not listed here.',
    );
    return exitCodes.done;
  }
  const rows = ports.map(({ path, stablePath, description, obstacle: why }) => [
    stablePath ?? path,
    stablePath === null ? '' : path,
    why === null ? description : `${description} (${why})`,
  ]);
  terminal.print(table(['use this path', 'now at', 'what it is'], rows));
  return exitCodes.done;
}

export const portsCommand: Command = {
  words: [],
  options: { json: jsonOption },
  notes: [
    'The names under /dev/serial/by-id/ stay the same when cables are moved. Nothing is opened.',
  ],
  run,
};
