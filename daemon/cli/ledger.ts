/** `nightbath ledger`: the ledgers of the baths, or the one of a tank's bath in full; needs no daemon. */

import { symptoms } from '../chemistry/symptoms.ts';
import { loadBaths, loadSettings } from '../settings/door.ts';
import { ledgerLines, ledgerTank, ledgerView } from '../store/door.ts';
import type { LedgerGround, StoreReader } from '../store/door.ts';
import type { LedgerEntry, LedgerLine, LedgerView } from '../wire/ledger.ts';
import { configOption, configPathOf, exitCodes, jsonOption, UsageError } from './command.ts';
import type { Call, Command } from './command.ts';
import { readingLog } from './log-reader.ts';
import { digits } from './plan-text.ts';
import { table } from './table.ts';

const shownEntries = 20;

function utc(wallMs: number): string {
  return new Date(wallMs).toISOString().slice(0, 16).replace('T', ' ');
}

const percent = (share: number): string => `${(share * 100).toFixed(1)} %`;

function list(lines: readonly LedgerLine[]): string {
  if (lines.length === 0) return 'No bath is known yet.';
  const rows = lines.map(({ tankId, bathId, runs, ampHours, due, current }) => [
    tankId,
    bathId,
    String(runs),
    `${digits(ampHours, 3)} Ah`,
    current ? due.join('; ') || 'nothing due' : 'not in this tank today',
  ]);
  return table(['tank', 'bath', 'runs', 'charge', 'due'], rows);
}

function additions({ additions: all, carbon }: LedgerView): string[] {
  const amounts = all.map(({ name, unit, due, dueAmount, dueAtAmpHours, ampHoursSince }) => {
    const state = due
      ? `${digits(dueAmount, 2)} ${unit} due`
      : `nothing due before ${digits(dueAtAmpHours, 2)} Ah`;
    return `${name}: ${state}, ${digits(ampHoursSince, 3)} Ah since the last`;
  });
  if (carbon === null) return amounts;
  const { ampHoursPerLitreSince: since, everyAmpHoursPerLitre: every, due } = carbon;
  const stand = `${digits(since, 2)} of ${digits(every, 3)} Ah/L`;
  return [...amounts, `Carbon treatment: ${due ? 'due' : 'not due'}, ${stand}`];
}

function anodes({ anode, anodes: kind, metalGramsPerAmpHour }: LedgerView): string {
  const rate = metalGramsPerAmpHour === null ? '' : `; ${digits(metalGramsPerAmpHour, 3)} g an Ah`;
  if (kind === 'insoluble') return `they do not dissolve: metal comes out of the bath${rate}`;
  if (anode === null) return `never weighed${rate}`;
  const { value, low, high } = anode.leftGrams;
  return `${value.toFixed(1)} g left (${low.toFixed(1)} to ${high.toFixed(1)})${rate}`;
}

function efficiency({ efficiency: known }: LedgerView): string {
  if (known === null) return 'the bath has no file';
  const { file, adopted, learned } = known;
  const own = adopted?.entry?.kind === 'efficiency' ? adopted.entry : null;
  const used = own ?? file;
  const from = own === null ? "the bath's file" : 'taken over from weigh-ins';
  const taught =
    learned === null
      ? 'no weigh-in by mass yet'
      : `${learned.count} weigh-ins: median ${percent(learned.value)} +- ${percent(learned.halfWidth)}`;
  return `plans go by ${percent(used.value)} +- ${percent(used.uncertainty)} (${from}); ${taught}`;
}

function told(entry: LedgerEntry): string {
  switch (entry.kind) {
    case 'addition':
      return entry.plannedAmount === undefined
        ? `${entry.name}, ${entry.amount} ${entry.unit}`
        : `${entry.name}, ${entry.amount} of ${entry.plannedAmount} ${entry.unit}`;
    case 'anode':
      return `anodes weighed, ${entry.grams} g`;
    case 'temperature':
      return `${entry.celsius} C`;
    case 'symptom':
      return symptoms.find(({ id }) => id === entry.symptom)?.name ?? entry.symptom;
    case 'upkeep':
      return entry.what;
    case 'figures':
      return 'figures changed';
    case 'efficiency':
      return `efficiency ${percent(entry.value)} taken over`;
  }
}

function full(view: LedgerView): string {
  const { tankId, bathId, runs, ampHours, load, temperature, entries } = view;
  const measures = (load?.measures ?? []).map(({ id, range, verdict }) => {
    const [value, low, high] = [range.value, range.low, range.high].map((one) => digits(one, 3));
    return `${id} ${value} (${low} to ${high}, ${verdict})`;
  });
  const record = entries.slice(0, shownEntries).map(({ atWallMs, by, entry }) => {
    const what = entry === null ? 'taken back' : told(entry);
    const note = entry === null || entry.note === '' ? '' : `: ${entry.note}`;
    return `  ${utc(atWallMs)}  ${what}${note} (${by})`;
  });
  return [
    `${view.bathName ?? bathId}, in ${view.tankName ?? tankId}: ${runs} runs, ${digits(ampHours, 3)} Ah`,
    ...additions(view).map((line) => `  ${line}`),
    `  Anodes: ${anodes(view)}`,
    `  Efficiency: ${efficiency(view)}`,
    ...(temperature === null
      ? []
      : [`  Usual temperature: ${temperature.minCelsius} to ${temperature.maxCelsius} C`]),
    ...(measures.length === 0 ? [] : [`  Newest run: ${measures.join(', ')}`]),
    ...(record.length === 0 ? [] : ['Record (UTC)', ...record]),
    "The supplier's sheet wins over every figure here.",
  ].join('\n');
}

function groundOf(call: Call, reader: StoreReader): LedgerGround {
  const { settings, file } = loadSettings({ env: call.terminal.env, ...configPathOf(call) });
  return {
    reader,
    tanks: settings.tanks.map(ledgerTank),
    baths: loadBaths(call.terminal.env, file),
  };
}

function answer(reader: StoreReader, call: Call): Promise<number> {
  const { terminal, switches } = call;
  const ground = groundOf(call, reader);
  const lines = ledgerLines(ground);
  const [tankId, bathId] = call.words;
  const print = (value: object, text: string): void =>
    terminal.print(switches.has('json') ? JSON.stringify(value, null, 2) : text);
  if (tankId === undefined) {
    print({ ledgers: lines }, list(lines));
    return Promise.resolve(exitCodes.done);
  }
  const found = lines.find(
    (one) => one.tankId === tankId && (bathId === undefined ? one.current : one.bathId === bathId),
  );
  if (found === undefined) {
    const known = lines.map((one) => `${one.tankId} ${one.bathId}`).join(', ');
    throw new UsageError(`There is no ledger of "${call.words.join(' ')}". Known: ${known}.`);
  }
  const view = ledgerView(ground, found);
  print(view, full(view));
  return Promise.resolve(exitCodes.done);
}

export const ledgerCommand: Command = {
  words: ['[TANK]', '[BATH]'],
  options: { json: jsonOption, config: configOption },
  notes: [
    'Without a tank: each bath with the charge that has passed and what is due. With one: the ledger ' +
      'of the bath that is in it today, or of the bath that is named. Entries are made on the page.',
  ],
  run: (call) => readingLog(call, answer),
};
