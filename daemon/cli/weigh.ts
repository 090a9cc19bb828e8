/** `nightbath weigh`: shows the weigh-in of a run, or saves one through the running daemon. */

import { randomUUID } from 'node:crypto';
import type { CalliperReading, WeighIn } from '../run/weigh-in/model.ts';
import { weighInBounds as bounds } from '../run/weigh-in/problems.ts';
import { controlSocketPath, loadSettings } from '../settings/door.ts';
import { weighInView } from '../store/door.ts';
import type { StoreReader } from '../store/door.ts';
import type { RunRecord } from '../wire/run.ts';
import { weighInSchema, type WeighInView } from '../wire/weigh-in.ts';
import { configOption, configPathOf, exitCodes, jsonOption, UsageError } from './command.ts';
import type { Call, Command } from './command.ts';
import { runningDaemon } from './daemon.ts';
import { readingLog } from './log-reader.ts';
import { digits, ranged } from './plan-text.ts';

const blank: WeighIn = {
  beforeGrams: null,
  afterGrams: null,
  balanceGrams: 0.01,
  hangersWeighed: true,
  calliperMm: 0.01,
  callipers: [],
  note: '',
};

function number(call: Call, name: string, min: number, max: number): number | undefined {
  const text = call.values[name];
  if (text === undefined) return undefined;
  const value = /^(\d+\.?\d*|\.\d+)$/.test(text) ? Number(text) : NaN;
  if (value >= min && value <= max && value > 0) return value;
  throw new UsageError(`--${name} is "${text}"; it must be a number above 0, ${min} to ${max}.`);
}

/** `2.00:2.24 1.98:2.23` is two places, each before and after, mm. */
function readings(call: Call, name: 'outside' | 'inside'): readonly CalliperReading[] {
  const text = call.values[name];
  if (text === undefined) return [];
  const growthPerThickness = name === 'outside' ? 2 : -2;
  return text
    .split(/[\s,]+/)
    .filter((pair) => pair !== '')
    .map((pair) => {
      const found = /^(\d+(?:\.\d+)?):(\d+(?:\.\d+)?)$/.exec(pair);
      const [before, after] = [Number(found?.[1]), Number(found?.[2])];
      const fits = [before, after].every((mm) => mm > 0 && mm <= bounds.mostMm);
      if (fits) return { label: '', beforeMm: before, afterMm: after, growthPerThickness };
      throw new UsageError(
        `--${name} holds "${pair}"; each place must be BEFORE:AFTER in mm, both above 0 and at most ${bounds.mostMm}.`,
      );
    });
}

const changing = ['before', 'after', 'step', 'outside', 'inside', 'note'] as const;

/** What was saved, with what the command line says in the place of it; null for nothing to save. */
function changed(call: Call, saved: WeighIn | null): WeighIn | null {
  const { values, switches } = call;
  const asked = changing.some((name) => values[name] !== undefined);
  if (!asked && !switches.has('without-hangers')) return null;
  const base = saved ?? blank;
  const note = values['note'] ?? base.note;
  if (note.length > bounds.longestNote) {
    throw new UsageError(
      `--note has ${note.length} characters; it may have at most ${bounds.longestNote}.`,
    );
  }
  const callipers = [...readings(call, 'outside'), ...readings(call, 'inside')];
  return {
    ...base,
    beforeGrams: number(call, 'before', 0, bounds.mostGrams) ?? base.beforeGrams,
    afterGrams: number(call, 'after', 0, bounds.mostGrams) ?? base.afterGrams,
    balanceGrams:
      number(call, 'step', bounds.leastBalanceGrams, bounds.mostBalanceGrams) ?? base.balanceGrams,
    hangersWeighed: switches.has('without-hangers') ? false : base.hangersWeighed,
    callipers: callipers.length > 0 ? callipers : base.callipers,
    note,
  };
}

async function save(
  call: Call,
  view: WeighInView,
  weighIn: WeighIn | null,
): Promise<string | null> {
  const { env } = call.terminal;
  const { settings } = loadSettings({ env, ...configPathOf(call) });
  const client = await runningDaemon(controlSocketPath(env, settings));
  if (client === null) return 'No daemon runs on this bench; it keeps the log. Start it first.';
  try {
    const said = await client.command(
      {
        kind: 'weigh-in',
        runId: view.runId,
        version: view.saved?.version ?? 0,
        by: 'the command line',
        weighIn: weighIn === null ? null : weighInSchema.parse(weighIn),
      },
      randomUUID(),
    );
    return said.ok ? null : said.reason;
  } finally {
    client.close();
  }
}

const percent = (share: number): string => (share * 100).toFixed(1);

function told(run: RunRecord, view: WeighInView): string {
  const head = `${run.id}: ${run.plan.request.piece.name}, ${view.bathName}`;
  const { figures, saved } = view;
  if (figures === null) return `${head}\n  ${view.why ?? ''}`;
  const { efficiency, massMicrometres, calliperMicrometres, areaFactor, gainGrams } = figures;
  const range = (unit: string, one: { value: number; low: number; high: number } | null): string =>
    one === null ? '-' : ranged(one, 2, unit);
  const running = view.runningEfficiency;
  return [
    head,
    `  version      ${saved?.version ?? 0}, saved by ${saved?.by ?? ''}`,
    `  gained       ${gainGrams === null ? '-' : `${digits(gainGrams.value, 3)} g`} (${digits(figures.expectedGrams.value, 3)} g expected)`,
    `  efficiency   ${efficiency === null ? '-' : `${percent(efficiency.value)} % (${percent(efficiency.low)} to ${percent(efficiency.high)})`}`,
    `  thickness    ${range('um', massMicrometres)} by mass, ${range('um', calliperMicrometres)} by callipers`,
    `  as counted   ${range('um', figures.countedMicrometres)}`,
    `  area factor  ${areaFactor === null ? '-' : `${digits(areaFactor.value, 3)} (${digits(areaFactor.low, 3)} to ${digits(areaFactor.high, 3)})`}`,
    ...(running === null
      ? []
      : [
          `  this bath    ${running.count} weigh-ins: median ${percent(running.value)} % +- ${percent(running.halfWidth)}; taken over on the page only`,
        ]),
    ...figures.remarks.map(({ text }) => `  ${text}`),
  ].join('\n');
}

async function answer(reader: StoreReader, call: Call): Promise<number> {
  const { terminal, switches } = call;
  const [runId] = call.words;
  if (runId === undefined)
    throw new UsageError('Name a run: `nightbath export --list` shows which there are.');
  const run = reader.run(runId);
  if (run === null || run.kind === 'probe') {
    terminal.complain(`There is no run "${runId}" in the log that grew anything.`);
    return exitCodes.failed;
  }
  const view = weighInView(reader, run);
  const takesBack = switches.has('take-back');
  const weighIn = changed(call, view.saved?.weighIn ?? null);
  if (takesBack && weighIn !== null) throw new UsageError('--take-back takes nothing beside it.');
  if (takesBack || weighIn !== null) {
    const refused = await save(call, view, weighIn);
    if (refused !== null) {
      terminal.complain(refused);
      return exitCodes.failed;
    }
  }
  const now = weighInView(reader, run);
  terminal.print(switches.has('json') ? JSON.stringify(now, null, 2) : told(run, now));
  return exitCodes.done;
}

export const weighCommand: Command = {
  words: ['RUN'],
  options: {
    before: { value: 'G', help: 'mass before the run, in grams' },
    after: { value: 'G', help: 'mass after it; what is not given stays as it was saved' },
    step: { value: 'G', help: 'one step of the balance; 0.01 if never given' },
    outside: { value: 'LIST', help: 'calliper readings of outsides in mm, "2.00:2.24 1.98:2.23"' },
    inside: { value: 'LIST', help: 'the same of insides, which shrink' },
    'without-hangers': { help: 'hangers of the piece were not on the balance' },
    note: { value: 'TEXT', help: 'a note to keep with it' },
    'take-back': { help: 'takes the weigh-in back; what it was is kept' },
    json: jsonOption,
    config: configOption,
  },
  notes: [
    'Shows the weigh-in of a run, or saves it through the running daemon: mass before and after, or ' +
      'calliper readings, give true efficiency and mean thickness with their range. Nothing is planned ' +
      'with them until it is taken over on the page.',
    [
      '  nightbath weigh 2026-01-10-beaker-1f0c9a --before 12.30',
      '  nightbath weigh 2026-01-10-beaker-1f0c9a --after 15.31',
    ].join('\n'),
  ],
  run: (call) => readingLog(call, answer),
};
