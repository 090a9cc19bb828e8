/** `nightbath export`: writes a run of the log as CSV or JSON; reads the database, needs no daemon. */

import { csvLines, eventCsvLines, runDocument } from '../store/door.ts';
import type { StoreReader } from '../store/door.ts';
import type { RunSummary } from '../wire/run.ts';
import { configOption, exitCodes, jsonOption, UsageError, wholeNumber } from './command.ts';
import type { Call, Command } from './command.ts';
import { readingLog } from './log-reader.ts';
import { digits } from './plan-text.ts';
import { outOption, writeResult } from './result.ts';
import { table } from './table.ts';

type Shape = 'csv' | 'json' | 'events';

function shapeOf(call: Call): Shape {
  const given = (['csv', 'json', 'events'] as const).filter((name) => call.switches.has(name));
  if (given.length > 1) throw new UsageError(`Give one of --${given.join(' and --')}.`);
  return given[0] ?? 'csv';
}

const makers: Readonly<Record<Shape, (reader: StoreReader, id: string) => Iterable<string>>> = {
  csv: csvLines,
  json: runDocument,
  events: eventCsvLines,
};

function listRuns(call: Call, runs: readonly RunSummary[]): void {
  const { terminal } = call;
  if (call.switches.has('json')) {
    terminal.print(JSON.stringify({ runs }, null, 2));
    return;
  }
  if (runs.length === 0) {
    terminal.print('There are no runs in the log yet.');
    return;
  }
  const rows = runs.map((one) => [
    one.id,
    new Date(one.armedWallMs).toISOString().slice(0, 16).replace('T', ' '),
    one.tankId,
    one.lifecycle,
    `${digits(one.thicknessMicrometres, 3)} µm`,
    `${digits(one.ampHours, 3)} A·h`,
    `${one.pieceName}${one.simulated ? ' (simulated)' : ''}`,
  ]);
  terminal.print(
    table(['run', 'armed (UTC)', 'tank', 'state', 'thickness', 'charge', 'piece'], rows),
  );
}

async function exportFrom(reader: StoreReader, call: Call): Promise<number> {
  const [runId, ...others] = call.words;
  if (call.switches.has('list')) {
    if (runId !== undefined) throw new UsageError('--list takes no run.');
    listRuns(call, reader.runs({ limit: wholeNumber(call, 'limit', 1, 1000) ?? 50 }));
    return exitCodes.done;
  }
  if (runId === undefined || others.length > 0) {
    throw new UsageError('Name one run, or give --list to see which there are.');
  }
  const shape = shapeOf(call);
  if (reader.run(runId) === null) {
    call.terminal.complain(`There is no run "${runId}" in the log. --list shows which there are.`);
    return exitCodes.failed;
  }
  await writeResult(call, makers[shape](reader, runId));
  return exitCodes.done;
}

export const exportCommand: Command = {
  words: ['[RUN]'],
  options: {
    list: { help: 'list the runs, newest first' },
    limit: { value: 'N', help: 'with --list: at most so many, 1 to 1000; 50 if not given' },
    csv: { help: 'the readings, one line each (this is the default)' },
    events: { help: 'the events, one line each, as CSV' },
    json: { ...jsonOption, help: 'the whole run as one JSON document; with --list, the list' },
    out: outOption,
    config: configOption,
  },
  notes: ['A file that is there already is never written over.'],
  run: (call) => readingLog(call, exportFrom),
};
