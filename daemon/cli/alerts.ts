/** `nightbath alerts`: lists the alert channels, sends a test on one, or takes the code of one that arrived. */

import { randomUUID } from 'node:crypto';
import { setTimeout as wait } from 'node:timers/promises';
import { connectControl } from '../control/door.ts';
import type { ControlClient } from '../control/door.ts';
import { controlSocketPath, databaseFile, loadSettings } from '../settings/door.ts';
import type { LoadedSettings } from '../settings/door.ts';
import { openStoreReader } from '../store/door.ts';
import type { AlertChannel, Delivery } from '../wire/alerts.ts';
import { configOption, configPathOf, exitCodes, jsonOption, UsageError } from './command.ts';
import type { Call, Command } from './command.ts';
import { table } from './table.ts';

const connectWithinMs = 2_000;
const by = 'the command line';
/** So many of the last messages are listed. */
const shownDeliveries = 10;

interface Outcome {
  readonly ok: boolean;
  readonly message: string;
}

async function connected(client: ControlClient): Promise<boolean> {
  const endMs = performance.now() + connectWithinMs;
  while (!client.alive && performance.now() < endMs) await wait(20);
  return client.alive;
}

async function sendTest(client: ControlClient, channel: string): Promise<Outcome> {
  const answer = await client.command({ kind: 'alert-test', channel, by }, randomUUID());
  return { ok: answer.ok, message: answer.ok ? (answer.message ?? '') : answer.reason };
}

async function confirm(client: ControlClient, code: string): Promise<Outcome> {
  const answer = await client.command({ kind: 'alert-confirm', code, by }, randomUUID());
  return { ok: answer.ok, message: answer.ok ? (answer.message ?? '') : answer.reason };
}

async function list(client: ControlClient): Promise<readonly AlertChannel[]> {
  const answer = await client.command({ kind: 'alert-channels' }, randomUUID());
  if (!answer.ok) throw new Error(answer.reason);
  return answer.channels ?? [];
}

function whenOf(wallMs: number | null): string {
  return wallMs === null ? 'never' : new Date(wallMs).toISOString().slice(0, 16).replace('T', ' ');
}

function asTable(channels: readonly AlertChannel[]): string {
  if (channels.length === 0) return 'The settings name no alert channels.';
  const rows = channels.map((one) => [
    one.name,
    one.kind,
    one.target,
    whenOf(one.deliveredWallMs),
    one.outside ? whenOf(one.confirmedWallMs) : '',
    one.lastError ?? '',
  ]);
  return table(['channel', 'kind', 'leads to', 'last delivery', 'test arrived', 'trouble'], rows);
}

/** The latest first; null where the log cannot be read. */
function lastDeliveries(settings: LoadedSettings['settings'], env: NodeJS.ProcessEnv) {
  try {
    const reader = openStoreReader(databaseFile(settings, env));
    try {
      return reader.deliveries(shownDeliveries);
    } finally {
      reader.close();
    }
  } catch {
    return null;
  }
}

const results: Readonly<Record<Delivery['state'], string>> = {
  waiting: 'not delivered yet',
  repeating: 'delivered, repeated',
  delivered: 'delivered',
  withdrawn: 'not needed any more',
  'given-up': 'given up',
};

function resultOf({ state, tries, confirmedWallMs, lastError }: Delivery): string {
  const result = confirmedWallMs === null ? results[state] : 'arrived';
  const count = tries > 1 ? `, ${tries} tries` : '';
  return `${result}${count}${lastError === null ? '' : `: ${lastError}`}`;
}

function deliveriesTable(deliveries: readonly Delivery[] | null): string {
  if (deliveries === null) return 'What was said so far cannot be read from the log.';
  if (deliveries.length === 0) return 'Nothing was said outside yet.';
  const rows = deliveries.map((one) => [
    whenOf(one.createdWallMs),
    one.channel,
    one.title,
    resultOf(one),
  ]);
  return table(['time', 'channel', 'message', 'result'], rows);
}

async function run(call: Call): Promise<number> {
  const { terminal, words } = call;
  if (words.length > 1) throw new UsageError('alerts takes one channel, or one code.');
  const { settings } = loadSettings({ env: terminal.env, ...configPathOf(call) });
  const client = connectControl(controlSocketPath(terminal.env, settings));
  try {
    if (!(await connected(client))) {
      terminal.complain('Nightbath is not running; the channels are tried by the daemon itself.');
      return exitCodes.failed;
    }
    const [word] = words;
    const json = call.switches.has('json');
    if (word === undefined) {
      const channels = await list(client);
      const deliveries = lastDeliveries(settings, terminal.env);
      terminal.print(
        json
          ? JSON.stringify({ channels, deliveries }, null, 2)
          : `${asTable(channels)}\n\n${deliveriesTable(deliveries)}`,
      );
      return exitCodes.done;
    }
    const isCode = /^\d{4}$/.test(word);
    const outcome = await (isCode ? confirm(client, word) : sendTest(client, word));
    terminal.print(json ? JSON.stringify(outcome, null, 2) : outcome.message);
    return outcome.ok ? exitCodes.done : exitCodes.failed;
  } catch (error) {
    terminal.complain(error instanceof Error ? error.message : String(error));
    return exitCodes.failed;
  } finally {
    client.close();
  }
}

export const alertsCommand: Command = {
  words: ['[CHANNEL|CODE]'],
  options: { json: jsonOption, config: configOption },
  notes: [
    'Without a word the channels are listed, and what was said outside last. With the name of one a test goes out on it. The test ' +
      'holds a code of four digits: give that code, here or on the page, once it has arrived. Only ' +
      'then the channel counts as tried, for seven days.',
  ],
  run,
};
