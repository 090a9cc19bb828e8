/** `nightbath interrupted`: runs that were cut short, what the supply does now, and the end of one. Switches nothing. */

import { randomUUID } from 'node:crypto';
import type { ControlClient } from '../control/door.ts';
import { controlSocketPath, loadSettings } from '../settings/door.ts';
import type { LoadedSettings } from '../settings/door.ts';
import type { TankSnapshot } from '../wire/bench.ts';
import { type InterruptedRun } from '../wire/interrupted.ts';
import { longestNote } from '../wire/bounds.ts';
import { configOption, configPathOf, exitCodes, jsonOption, UsageError } from './command.ts';
import type { Call, Command } from './command.ts';
import { runningDaemon } from './daemon.ts';
import { digits } from './plan-text.ts';

const outputs: Readonly<Record<TankSnapshot['output'], string>> = {
  confirmedOff: 'output off, read back',
  on: 'OUTPUT ON',
  offRequested: 'off was asked for and is not confirmed yet',
  unknown: 'output not known: the supply has not answered',
};

interface Found {
  readonly runs: readonly InterruptedRun[];
  readonly tanks: readonly TankSnapshot[];
}

async function lookUp(client: ControlClient): Promise<Found> {
  const answer = await client.command({ kind: 'snapshot' }, randomUUID());
  if (!answer.ok) throw new Error(answer.reason);
  return { runs: answer.interrupted ?? [], tanks: answer.tanks ?? [] };
}

function utc(wallMs: number): string {
  return new Date(wallMs).toISOString().slice(0, 16).replace('T', ' ');
}

function supplyNow(tank: TankSnapshot | undefined): string {
  if (tank === undefined) return 'not among the tanks any more';
  const { reading, link, output } = tank;
  const measured =
    reading === null || link.state !== 'connected'
      ? 'no reading'
      : `${reading.amps.toFixed(3)} A at ${reading.volts.toFixed(2)} V`;
  return `${outputs[output]}; ${measured}`;
}

function told(cut: InterruptedRun, { tanks }: Found): string {
  const grown = cut.thicknessMicrometres;
  const amount = (value: number): string => digits(value, 3);
  const lines = [
    `${cut.runId}: ${cut.pieceName}, ${cut.tankName ?? `tank ${cut.tankId}`}`,
    `  last measured ${utc(cut.seenWallMs)} UTC. ${cut.reason}`,
    `  grown       ${digits(grown.value, 2)} um (${digits(grown.low, 2)} to ${digits(grown.high, 2)}), target ${digits(cut.targetMicrometres, 3)} um`,
    `  charge      ${amount(cut.ampHours)} Ah (${amount(cut.lowAmpHours)} to ${amount(cut.highAmpHours)}), target ${amount(cut.targetAmpHours)} Ah`,
    `  supply now  ${supplyNow(tanks.find(({ id }) => id === cut.tankId))}`,
    ...cut.earlierRunIds.map((id) => `  carries on  ${id}`),
    ...[...cut.remarks, ...(cut.hindrance === null ? [] : [cut.hindrance])].map(
      (remark) => `  ${remark}`,
    ),
  ];
  return lines.join('\n');
}

function choices({ settings }: LoadedSettings, cut: InterruptedRun): string {
  const { port } = settings.server;
  const page = `http://127.0.0.1:${port}/plan?continues=${cut.runId}`;
  const ending = `  end it    nightbath interrupted ${cut.runId} --end --note "…"`;
  if (cut.hindrance !== null) return ending;
  return `  carry on  ${port === 0 ? 'on the Bench page' : page} (plan what is left, arm, start)\n${ending}`;
}

async function list(call: Call, loaded: LoadedSettings, found: Found): Promise<number> {
  const { terminal, switches } = call;
  const [runId] = call.words;
  const runs = found.runs.filter((cut) => runId === undefined || cut.runId === runId);
  if (runId !== undefined && runs.length === 0) {
    terminal.complain(`No run "${runId}" waits for a decision.`);
    return exitCodes.failed;
  }
  if (switches.has('json')) {
    const tanks = found.tanks.map(({ id, output, reading }) => ({ id, output, reading }));
    terminal.print(JSON.stringify({ interrupted: runs, tanks }, null, 2));
  } else if (runs.length === 0) {
    terminal.print('No run was cut short, or each of them is decided.');
  } else {
    terminal.print(runs.map((cut) => `${told(cut, found)}\n${choices(loaded, cut)}`).join('\n\n'));
  }
  return Promise.resolve(exitCodes.done);
}

async function end(call: Call, client: ControlClient, runId: string): Promise<number> {
  const note = call.values['note'] ?? '';
  if (note.length > longestNote) {
    throw new UsageError(
      `--note has ${note.length} characters; it may have at most ${longestNote}.`,
    );
  }
  const command = { kind: 'end-interrupted', runId, by: 'the command line', note } as const;
  const answer = await client.command(command, randomUUID());
  if (!answer.ok) {
    call.terminal.complain(answer.reason);
    return exitCodes.failed;
  }
  call.terminal.print(
    call.switches.has('json')
      ? JSON.stringify({ ended: runId }, null, 2)
      : `${runId} is ended here and kept as interrupted. Nothing was switched.`,
  );
  return exitCodes.done;
}

async function run(call: Call): Promise<number> {
  const [runId] = call.words;
  const ends = call.switches.has('end');
  if (call.words.length > 1) throw new UsageError('Name one run, or none for all of them.');
  if (ends && runId === undefined) throw new UsageError('--end needs a run.');
  if (!ends && call.values['note'] !== undefined) throw new UsageError('--note needs --end.');
  const { env } = call.terminal;
  const loaded = loadSettings({ env, ...configPathOf(call) });
  const client = await runningDaemon(controlSocketPath(env, loaded.settings));
  if (client === null) {
    call.terminal.complain(
      'No daemon runs on this bench. Start it (nightbath serve): it switches off what was left on, ' +
        'closes what was cut short and shows it. Nothing goes on by itself.',
    );
    return exitCodes.failed;
  }
  try {
    if (ends && runId !== undefined) return await end(call, client, runId);
    return await list(call, loaded, await lookUp(client));
  } finally {
    client.close();
  }
}

export const interruptedCommand: Command = {
  words: ['[RUN]'],
  options: {
    end: { help: 'end this run here: it is kept as interrupted and waits no more' },
    note: { value: 'TEXT', help: 'with --end: a note to keep with it' },
    json: jsonOption,
    config: configOption,
  },
  notes: [
    'Lists the runs that were cut short by a power cut or a restart and wait for a decision, with what ' +
      'the supply does now. Nothing is ever switched on from here: carrying on is a new run that is ' +
      'planned, armed and started on the page.',
  ],
  run,
};
