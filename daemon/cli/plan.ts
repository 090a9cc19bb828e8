/** `nightbath plan`: plans a piece from a file and prints the plan; needs no daemon. */

import { readFileSync } from 'node:fs';
import * as z from 'zod/mini';
import type { Bath } from '../chemistry/model.ts';
import type { Material } from '../piece/material.ts';
import type { Problem } from '../piece/model.ts';
import type { PlanContext, PlanQuestion, TankFacts } from '../run/model.ts';
import { comparePlans } from '../run/plan-compare.ts';
import { planRun } from '../run/plan.ts';
import { didYouMean, loadBaths, loadMaterials, loadSettings } from '../settings/door.ts';
import type { LoadedSettings } from '../settings/door.ts';
import { planFileSchema } from '../wire/plan-file.ts';
import type { PlanFile } from '../wire/plan-file.ts';
import { bathAsPlanned } from './adopted.ts';
import { configPathOf, exitCodes, UsageError } from './command.ts';
import type { Call, Command } from './command.ts';
import { tankFactsOf } from './facts.ts';
import { comparisonText } from './plan-compare-text.ts';
import { comparedDensities, planOptions, questionOf } from './plan-options.ts';
import { planText } from './plan-text.ts';

type Refused = { readonly ok: false; readonly problems: readonly Problem[] };

async function readFile(call: Call): Promise<unknown> {
  const [file, ...others] = call.words;
  if (file === undefined || others.length > 0) {
    throw new UsageError('Give one file with a piece, or - for standard input.');
  }
  const name = file === '-' ? 'standard input' : file;
  let text: string;
  try {
    text = file === '-' ? await call.terminal.readInput() : readFileSync(file, 'utf8');
  } catch (error) {
    throw new Error(`${name} cannot be read: ${reason(error)}`, { cause: error });
  }
  try {
    return JSON.parse(text);
  } catch (error) {
    throw new Error(`${name} is not JSON: ${reason(error)}`, { cause: error });
  }
}

function reason(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** A piece alone is a file too. */
function withPiece(raw: unknown): unknown {
  const alone = typeof raw === 'object' && raw !== null && 'parts' in raw && !('piece' in raw);
  return alone ? { piece: raw } : raw;
}

function keyPath(path: readonly PropertyKey[]): string {
  return path
    .map((step) => (typeof step === 'number' ? `[${step}]` : `.${String(step)}`))
    .join('')
    .slice(1);
}

function parseFile(raw: unknown): { readonly ok: true; readonly file: PlanFile } | Refused {
  const parsed = planFileSchema.safeParse(withPiece(raw));
  if (parsed.success) return { ok: true, file: parsed.data };
  const problems = parsed.error.issues.map((issue): Problem => {
    const field = keyPath(issue.path);
    const message = `${field || 'The request'}: ${issue.message}`;
    return { field, value: '', bound: '', message };
  });
  return { ok: false, problems };
}

function unknownName(field: string, value: string, known: readonly string[]): Refused {
  const bound = `one of ${known.join(', ')}`;
  const message = `${field} is "${value}"; it must be ${bound}.${didYouMean(value, known)}`;
  return { ok: false, problems: [{ field, value, bound, message }] };
}

interface Asked {
  readonly ok: true;
  readonly question: PlanQuestion;
  readonly bath: Bath;
  readonly tank: TankFacts;
  readonly context: PlanContext;
}

/** The question, its bath and its tank; the tank may be left to there being only one. */
async function asked(file: PlanFile, call: Call, loaded: LoadedSettings): Promise<Asked | Refused> {
  const { tanks } = loaded.settings;
  const only = tanks.length === 1 ? tanks[0]?.id : undefined;
  const tankId = call.values['tank'] ?? file.tankId ?? only;
  const known = tanks.map(({ id }) => id);
  if (tankId === undefined) throw new UsageError(`Name a tank with --tank: ${known.join(', ')}.`);
  const tank = tanks.find(({ id }) => id === tankId);
  if (tank === undefined) return unknownName('tankId', tankId, known);
  const question = questionOf(call, file, tankId, tank.bath);
  const baths = loadBaths(call.terminal.env, loaded.file);
  const bath = baths.find(({ id }) => id === question.bathId);
  const bathIds = baths.map(({ id }) => id);
  if (bath === undefined) return unknownName('bathId', question.bathId, bathIds);
  const context = contextHere(loadMaterials(call.terminal.env, loaded.file));
  const facts = await tankFactsOf(tank, loaded, call.terminal.env);
  const planned = bathAsPlanned(bath, tankId, loaded, call.terminal);
  return { ok: true, question, bath: planned, tank: facts, context };
}

function refuse(call: Call, refused: Refused): number {
  const { terminal } = call;
  if (call.switches.has('json')) terminal.print(JSON.stringify(refused, null, 2));
  else for (const { message } of refused.problems) terminal.complain(message);
  return exitCodes.failed;
}

/** The hour and the zone of this machine, for a target by the clock, and its table of materials. */
function contextHere(materials: readonly Material[]): PlanContext {
  const { timeZone } = Intl.DateTimeFormat().resolvedOptions();
  return { nowWallMs: Date.now(), timeZone, materials };
}

function compare(
  call: Call,
  densities: readonly number[],
  { question, bath, tank, context }: Asked,
): number {
  const { terminal } = call;
  const result = comparePlans(question, densities, bath, tank, context);
  if (!result.ok) return refuse(call, result);
  const json = call.switches.has('json');
  terminal.print(json ? JSON.stringify(result, null, 2) : comparisonText(terminal, result.rows));
  return result.rows.some(({ startable }) => startable) ? exitCodes.done : exitCodes.failed;
}

async function run(call: Call): Promise<number> {
  const { terminal } = call;
  if (call.switches.has('schema')) {
    terminal.print(JSON.stringify(z.toJSONSchema(planFileSchema), null, 2));
    return exitCodes.done;
  }
  const raw = await readFile(call);
  const densities = comparedDensities(call);
  const loaded = loadSettings({ env: terminal.env, ...configPathOf(call) });
  const parsed = parseFile(raw);
  if (!parsed.ok) return refuse(call, parsed);
  const ask = await asked(parsed.file, call, loaded);
  if (!ask.ok) return refuse(call, ask);
  if (densities !== null) return compare(call, densities, ask);
  const result = planRun(ask.question, ask.bath, ask.tank, ask.context);
  if (!result.ok) return refuse(call, result);
  const json = call.switches.has('json');
  terminal.print(json ? JSON.stringify(result, null, 2) : planText(terminal, result.plan));
  return result.plan.startable ? exitCodes.done : exitCodes.failed;
}

export const planCommand: Command = {
  words: ['[FILE]'],
  options: planOptions,
  notes: [
    'FILE holds a piece, alone or with the rest of its plan; - reads standard input. Options go ' +
      'before what the file says. Ends with 0 when the plan can be started, with 1 when it is ' +
      'refused. An example, and the same with its density in A/in2, for the morning:',
    [
      '  {',
      '    "bathId": "acid-copper-still", "paint": "copper",',
      '    "target": { "kind": "thickness", "micrometres": 120 },',
      '    "piece": {',
      '      "name": "Twig", "areaUncertainty": 0.15,',
      '      "parts": [{ "kind": "wire", "label": "stem", "count": 1, "platedFraction": 1,',
      '                  "sizes": { "wireDiameterMm": 3, "lengthMm": 60 } }]',
      '    }',
      '  }',
      '',
      '  nightbath plan twig.json --density "0.1 A/in2"',
      '  nightbath plan twig.json --done-by 07:00',
      '  nightbath plan twig.json --compare 1,1.5,2',
    ].join('\n'),
  ],
  run,
};
