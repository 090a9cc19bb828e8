/** `nightbath ready`: the checks before a start as the running daemon sees them, and the short looks among them. */

import { randomUUID } from 'node:crypto';
import { performance } from 'node:perf_hooks';
import { setTimeout as wait } from 'node:timers/promises';
import type { ControlClient } from '../control/door.ts';
import { isOpen } from '../run/checks/start.ts';
import type { CheckProbe } from '../run/probe-model.ts';
import { controlSocketPath, loadSettings } from '../settings/door.ts';
import type { Reaction, TankChecks } from '../wire/checks.ts';
import type { Command as Asked, CommandAnswer } from '../wire/command.ts';
import { configOption, configPathOf, exitCodes, jsonOption, UsageError } from './command.ts';
import type { Call, Command } from './command.ts';
import { runningDaemon } from './daemon.ts';
import { tankNamed } from './facts.ts';
import { table } from './table.ts';

const probeWithinMs = 60_000;

type Accepted = Extract<CommandAnswer, { ok: true }>;

async function told(client: ControlClient, command: Asked): Promise<Accepted> {
  const answer = await client.command(command, randomUUID());
  if (answer.ok) return answer;
  throw new Error(answer.reason);
}

async function checksOf(client: ControlClient, tankId: string): Promise<TankChecks> {
  const { checks } = await told(client, { kind: 'checks', tankId });
  if (checks === undefined) throw new Error('The daemon did not say.');
  return checks;
}

/** Asks for a probe and waits until its output is read back as off. */
async function probe(client: ControlClient, tankId: string, kind: CheckProbe): Promise<void> {
  const by = 'the command line';
  const { runId } = await told(client, { kind: 'probe', tankId, by, probe: kind });
  const endMs = performance.now() + probeWithinMs;
  for (;;) {
    const { tanks = [] } = await told(client, { kind: 'snapshot' });
    const tank = tanks.find(({ id }) => id === tankId);
    if (tank?.run?.id !== runId) throw new Error('Another run has come to this tank.');
    if (tank?.run?.outcome !== null && tank?.output === 'confirmedOff') return;
    if (performance.now() > endMs) throw new Error('The check has not ended. Look at the bench.');
    await wait(200);
  }
}

const words = { ok: 'well', failing: 'LOOK', unknown: 'LOOK', notNeeded: 'skipped' } as const;

/** How fast the bench acts on the run that is armed or on, in one line. */
export function reactionText(reaction: Reaction, simulated: boolean): string {
  const { readsPerSecond, slowedBySupply, silentOffSeconds, hungOffSeconds, offAlarmSeconds } =
    reaction;
  const often = readsPerSecond === 1 ? 'once' : `${readsPerSecond} times`;
  const slowed = slowedBySupply ? ', as often as this supply allows' : '';
  const unguarded = simulated
    ? 'If the program hangs, this simulated supply ends with it.'
    : 'If the program hangs, nothing else switches this supply off.';
  const hung =
    hungOffSeconds === null
      ? unguarded
      : `If the program hangs: off within about ${hungOffSeconds} s.`;
  return `Read ${often} a second${slowed}. Off after ${silentOffSeconds} s without a valid reading. ${hung} Alarm when OFF is not confirmed for ${offAlarmSeconds} s.`;
}

function text({ checks, caution, reaction }: TankChecks): string {
  const rows = checks.map((check) => [
    isOpen(check) && check.weight === 'hard' ? 'NEEDED' : words[check.state],
    check.title,
    `${check.sentence} ${check.remedy}`.trim(),
  ]);
  const below = [reaction === null ? null : reactionText(reaction, caution === null), caution];
  return [
    table(['', 'check', 'found'], rows),
    ...below.flatMap((line) => (line === null ? [] : ['', line])),
  ].join('\n');
}

async function run(call: Call): Promise<number> {
  const { terminal, switches, words: named } = call;
  const loaded = loadSettings({ env: terminal.env, ...configPathOf(call) });
  const [first, ...others] = loaded.settings.tanks;
  if (named[0] === undefined && (first === undefined || others.length > 0)) {
    throw new UsageError('Name one of the tanks.');
  }
  const tankId = named[0] === undefined ? (first?.id ?? '') : tankNamed(loaded, named[0]).id;
  const client = await runningDaemon(controlSocketPath(terminal.env, loaded.settings));
  if (client === null) {
    terminal.complain('Nightbath is not running: "nightbath serve" starts it.');
    return exitCodes.supplyNotReachable;
  }
  try {
    for (const kind of ['continuity', 'drill'] as const) {
      if (switches.has(kind)) await probe(client, tankId, kind);
    }
    const checks = await checksOf(client, tankId);
    terminal.print(switches.has('json') ? JSON.stringify(checks, null, 2) : text(checks));
    const open = checks.checks.some((check) => isOpen(check) && check.weight === 'hard');
    return open ? exitCodes.failed : exitCodes.done;
  } finally {
    client.close();
  }
}

export const readyCommand: Command = {
  words: ['[TANK]'],
  options: {
    continuity: { help: 'first look at the circuit: a low current for a few seconds' },
    drill: { help: 'first drill the limits: trip on purpose at a low current, read OFF back' },
    json: jsonOption,
    config: configOption,
  },
  notes: [
    '"NEEDED" refuses a start; "LOOK" has to be acknowledged with it. Ends with 1 while anything ' +
      'that is needed is not so.',
  ],
  run,
};
