/** `nightbath off`: the output off and verified, whether or not the daemon runs. */

import { randomUUID } from 'node:crypto';
import { setTimeout as wait } from 'node:timers/promises';
import { RectifierError } from '../../drivers/contract.ts';
import type { OffReport } from '../../drivers/contract.ts';
import type { ControlClient } from '../control/door.ts';
import { controlSocketPath, loadSettings } from '../settings/door.ts';
import type { LoadedSettings } from '../settings/door.ts';
import type { TankSettings } from '../settings/model.ts';
import { configOption, configPathOf, exitCodes, jsonOption, UsageError } from './command.ts';
import type { Call, Command } from './command.ts';
import { runningDaemon } from './daemon.ts';
import { rectifierOf, tankNamed } from './facts.ts';

/** What became of one tank; `way` says who switched it off. */
interface OffOutcome {
  readonly tankId: string;
  readonly outcome: 'off' | 'not confirmed' | 'not reachable';
  readonly way: 'daemon' | 'directly' | 'simulated';
  readonly message: string;
}

const tries = 3;
const pauseMs = 500;
/** The line of a supply that just lost its daemon can stay locked for a moment. */
const closeWithinMs = 2_000;

function reason(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

async function offByDaemon(client: ControlClient, tankId: string): Promise<OffOutcome | null> {
  const command = { kind: 'stop', tankId, by: 'the command line' } as const;
  try {
    const answer = await client.command(command, randomUUID());
    if (!answer.ok) return null;
    const confirmed = answer.offConfirmed === true;
    const message =
      answer.message ?? (confirmed ? 'The supply says off.' : 'The supply has not said off.');
    return { tankId, outcome: confirmed ? 'off' : 'not confirmed', way: 'daemon', message };
  } catch {
    // A daemon that does not answer is as good as none: the supply is asked directly.
    return null;
  }
}

/** Opens the supply itself, makes sure that it is the right one, and switches it off. */
async function offDirectly(
  tank: TankSettings,
  loaded: LoadedSettings,
  env: NodeJS.ProcessEnv,
): Promise<OffOutcome> {
  const base = { tankId: tank.id, way: 'directly' } as const;
  const rectifier = await rectifierOf(tank, loaded, env);
  let opened = true;
  try {
    await rectifier.connect();
  } catch (error) {
    const kind = error instanceof RectifierError ? error.kind : null;
    // Another device under this name is not switched off: nobody knows what it is.
    if (kind === 'wrongDevice') {
      return { ...base, outcome: 'not reachable', message: reason(error) };
    }
    opened = kind !== 'cannotOpen' && kind !== 'locked';
  }
  let last: OffReport = { confirmed: false, outputOn: null, amps: null, reason: '' };
  for (let turn = 0; turn < tries && !last.confirmed; turn += 1) {
    if (turn > 0) await wait(pauseMs);
    last = await rectifier.off();
  }
  await Promise.race([rectifier.close().catch(() => {}), wait(closeWithinMs)]);
  if (last.confirmed) {
    const amps = last.amps === null ? '' : `, ${last.amps} A`;
    return { ...base, outcome: 'off', message: `The supply says off${amps}.` };
  }
  return { ...base, outcome: opened ? 'not confirmed' : 'not reachable', message: last.reason };
}

async function offOne(
  tank: TankSettings,
  loaded: LoadedSettings,
  client: ControlClient | null,
  env: NodeJS.ProcessEnv,
): Promise<OffOutcome> {
  const answered = client === null ? null : await offByDaemon(client, tank.id);
  if (answered !== null) return answered;
  if (tank.rectifier.link.kind === 'in-process') {
    const message = 'The simulated supply runs only inside the daemon, which does not answer.';
    return { tankId: tank.id, outcome: 'off', way: 'simulated', message };
  }
  try {
    return await offDirectly(tank, loaded, env);
  } catch (error) {
    const base = { tankId: tank.id, way: 'directly' } as const;
    return { ...base, outcome: 'not reachable', message: reason(error) };
  }
}

async function run(call: Call): Promise<number> {
  const { terminal } = call;
  if (call.words.length > 1) throw new UsageError('Name one tank, or none for all of them.');
  const loaded = loadSettings({ env: terminal.env, ...configPathOf(call) });
  const named = call.words[0];
  const tanks = named === undefined ? loaded.settings.tanks : [tankNamed(loaded, named)];
  const client = await runningDaemon(controlSocketPath(terminal.env, loaded.settings));
  const outcomes = await Promise.all(
    tanks.map((tank) => offOne(tank, loaded, client, terminal.env)),
  );
  client?.close();
  report(call, outcomes);
  if (outcomes.some(({ outcome }) => outcome === 'not confirmed')) return exitCodes.offNotConfirmed;
  const unreachable = outcomes.some(({ outcome }) => outcome === 'not reachable');
  return unreachable ? exitCodes.supplyNotReachable : exitCodes.done;
}

const words = { off: 'off', 'not confirmed': 'NOT CONFIRMED OFF', 'not reachable': 'NOT REACHED' };

function report({ terminal, switches }: Call, outcomes: readonly OffOutcome[]): void {
  if (switches.has('json')) terminal.print(JSON.stringify({ tanks: outcomes }, null, 2));
  for (const { tankId, outcome, message } of outcomes) {
    const line = `Tank ${tankId}: ${words[outcome]}. ${message}`;
    if (outcome !== 'off') terminal.complain(line);
    else if (!switches.has('json')) terminal.print(line);
  }
  if (outcomes.some(({ outcome }) => outcome !== 'off')) {
    terminal.complain(
      'Switch that supply off by hand, at its mains switch, and look at its display.',
    );
  }
}

export const offCommand: Command = {
  words: ['[TANK]'],
  options: { config: configOption, json: jsonOption },
  notes: [
    'A running daemon does it and ends its run. Without one the supply is opened here, OFF is sent ' +
      'and read back. Ends with 0 only when every supply itself has said that it is off.',
  ],
  run,
};
