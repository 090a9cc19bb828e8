/** `nightbath plan`: plans a piece from a file and prints the plan; needs no daemon. */

import { readFileSync } from 'node:fs';
import type { Problem } from '../piece/model.ts';
import type { PlanRequest, PlanResult } from '../run/model.ts';
import { planRun } from '../run/plan.ts';
import { didYouMean, loadBaths, loadSettings } from '../settings/door.ts';
import type { LoadedSettings } from '../settings/door.ts';
import { planRequestSchema } from '../wire/plan.ts';
import { configOption, configPathOf, exitCodes, jsonOption, UsageError } from './command.ts';
import type { Call, Command } from './command.ts';
import { tankFactsOf } from './facts.ts';
import { planText } from './plan-text.ts';

async function readRequest(call: Call): Promise<unknown> {
  const [file, ...others] = call.words;
  if (file === undefined || others.length > 0) {
    throw new UsageError('Give one file with a plan request, or - for standard input.');
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

/** The tank may be left to --tank, or to there being only one. */
function withTank(raw: unknown, call: Call, loaded: LoadedSettings): unknown {
  if (typeof raw !== 'object' || raw === null || Array.isArray(raw)) return raw;
  const { tanks } = loaded.settings;
  const only = tanks.length === 1 ? tanks[0]?.id : undefined;
  const tankId = call.values['tank'] ?? ('tankId' in raw ? raw.tankId : only);
  return tankId === undefined ? raw : { ...raw, tankId };
}

function keyPath(path: readonly PropertyKey[]): string {
  return path
    .map((step) => (typeof step === 'number' ? `[${step}]` : `.${String(step)}`))
    .join('')
    .slice(1);
}

function unknownName(field: string, value: string, known: readonly string[]): PlanResult {
  const bound = `one of ${known.join(', ')}`;
  const message = `${field} is "${value}"; it must be ${bound}.${didYouMean(value, known)}`;
  return { ok: false, problems: [{ field, value, bound, message }] };
}

async function planFor(raw: unknown, call: Call, loaded: LoadedSettings): Promise<PlanResult> {
  const parsed = planRequestSchema.safeParse(withTank(raw, call, loaded));
  if (!parsed.success) {
    const problems = parsed.error.issues.map((issue): Problem => {
      const field = keyPath(issue.path);
      return {
        field,
        value: '',
        bound: '',
        message: `${field || 'The request'}: ${issue.message}`,
      };
    });
    return { ok: false, problems };
  }
  const request: PlanRequest = parsed.data;
  const baths = loadBaths(call.terminal.env, loaded.file);
  const bath = baths.find((one) => one.id === request.bathId);
  if (bath === undefined) {
    return unknownName(
      'bathId',
      request.bathId,
      baths.map(({ id }) => id),
    );
  }
  const tank = loaded.settings.tanks.find((one) => one.id === request.tankId);
  if (tank === undefined) {
    return unknownName(
      'tankId',
      request.tankId,
      loaded.settings.tanks.map(({ id }) => id),
    );
  }
  return planRun(request, bath, await tankFactsOf(tank, loaded, call.terminal.env));
}

async function run(call: Call): Promise<number> {
  const { terminal } = call;
  const raw = await readRequest(call);
  const loaded = loadSettings({ env: terminal.env, ...configPathOf(call) });
  const result = await planFor(raw, call, loaded);
  const startable = result.ok && result.plan.startable;
  if (call.switches.has('json')) terminal.print(JSON.stringify(result, null, 2));
  else if (result.ok) terminal.print(planText(terminal, result.plan));
  else for (const { message } of result.problems) terminal.complain(message);
  return startable ? exitCodes.done : exitCodes.failed;
}

export const planCommand: Command = {
  words: ['FILE'],
  options: {
    tank: { value: 'ID', help: "the tank to plan for, in place of the file's tankId" },
    config: configOption,
    json: jsonOption,
  },
  notes: [
    'FILE holds a plan request as the page sends it; - reads standard input. Ends with 0 when the ' +
      'plan can be started, with 1 when it is refused. An example:',
    [
      '  {',
      '    "tankId": "beaker", "bathId": "acid-copper-still", "paint": "copper",',
      '    "densityAmpsPerDm2": 1.5, "trickle": null,',
      '    "target": { "kind": "thickness", "micrometres": 120 },',
      '    "piece": {',
      '      "name": "Twig", "areaUncertainty": 0.15,',
      '      "parts": [{ "kind": "wire", "label": "stem", "count": 1, "platedFraction": 1,',
      '                  "sizes": { "wireDiameterMm": 3, "lengthMm": 60 } }]',
      '    }',
      '  }',
    ].join('\n'),
  ],
  run,
};
