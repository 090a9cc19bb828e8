/** Commands by POST: arm, start, lift, stop and the rest, passed to the control process and answered. */

import { createHash, randomUUID } from 'node:crypto';
import { Hono } from 'hono';
import type { Context } from 'hono';
import type { ControlClient } from '../control/door.ts';
import {
  armBodySchema,
  changeBodySchema,
  lookBodySchema,
  onRunBodySchema,
  startBodySchema,
  turningBodySchema,
} from '../wire/command.ts';
import type { Command, CommandAnswer } from '../wire/command.ts';
import { signature } from './access/caller.ts';
import { probeBodySchema } from '../wire/probe.ts';
import { jsonBody, pathParam, pieceBodyBytes } from './body.ts';
import { ProblemError } from './problem.ts';
import { endBodySchema } from '../wire/interrupted.ts';
import { noteBodySchema } from '../wire/run-book.ts';
import { runIdSchema } from '../wire/run.ts';
import { alarmIdSchema, emptyBodySchema, tankIdSchema } from './schemas.ts';

/** Said whenever a stop was asked for and the output was not read back as off. */
const byHand = 'Not confirmed. Switch the supply off by hand.';
/** Longest wait for control, ms; bringing an output down and reading it back fits inside. */
const commandTimeoutMs = 10_000;

type Accepted = Extract<CommandAnswer, { ok: true }>;

export interface CommandDeps {
  readonly control: ControlClient;
  readonly commandTimeoutMs?: number;
}

export function commandRoutes(deps: CommandDeps) {
  const send = async (context: Context, command: Command): Promise<Response> =>
    context.json(await obey(deps, command, requiredKey(context)));
  return new Hono()
    .route('/', onRunRoutes(send))
    .route('/', changeRoutes(deps, send))
    .post('/tanks/:id/arm', jsonBody(armBodySchema, undefined, pieceBodyBytes), (context) =>
      send(context, { kind: 'arm', ...asked(context), ...context.req.valid('json') }),
    )
    .get('/tanks/:id/checks', async (context) => {
      const tankId = tankIdOf(context.req.param('id'));
      const { checks } = await obey(deps, { kind: 'checks', tankId }, randomUUID());
      if (checks === undefined) throw new ProblemError('unavailable', 'Control did not say.');
      return context.json(checks);
    })
    .post('/tanks/:id/probe', jsonBody(probeBodySchema), (context) =>
      send(context, { kind: 'probe', ...asked(context), ...context.req.valid('json') }),
    )
    .post('/tanks/:id/stop', async (context) => {
      const key = givenKey(context) ?? randomUUID();
      // What cannot be read as a run names none, and the stop is obeyed.
      const named = runIdSchema.safeParse(context.req.query('runId'));
      const only = named.success && { runId: named.data };
      return context.json(await stop(deps, { kind: 'stop', ...asked(context), ...only }, key));
    })
    .post('/tanks/:id/demo', jsonBody(emptyBodySchema), (context) =>
      send(context, { kind: 'demo', ...asked(context) }),
    )
    .post('/runs/:id/end', jsonBody(endBodySchema), (context) => {
      const runId = pathParam(runIdSchema, context.req.param('id'), 'run');
      const { note } = context.req.valid('json');
      return send(context, { kind: 'end-interrupted', runId, by: byOf(context), note });
    })
    .post('/alarms/:id/acknowledge', jsonBody(emptyBodySchema), (context) => {
      const alarmId = pathParam(alarmIdSchema, context.req.param('id'), 'alarm');
      return send(context, { kind: 'acknowledge', alarmId, by: byOf(context) });
    });
}

type Send = (context: Context, command: Command) => Promise<Response>;

/** Commands that name the run and the version of it that the page was showing. */
function onRunRoutes(send: Send) {
  return new Hono()
    .post('/tanks/:id/start', jsonBody(startBodySchema), (context) =>
      send(context, { kind: 'start', ...asked(context), ...context.req.valid('json') }),
    )
    .post('/tanks/:id/disarm', jsonBody(onRunBodySchema), (context) =>
      send(context, { kind: 'disarm', ...asked(context), ...context.req.valid('json') }),
    )
    .post('/tanks/:id/lift', jsonBody(onRunBodySchema), (context) =>
      send(context, { kind: 'lift', ...asked(context), ...context.req.valid('json') }),
    )
    .post('/tanks/:id/put-back', jsonBody(onRunBodySchema), (context) =>
      send(context, { kind: 'put-back', ...asked(context), ...context.req.valid('json') }),
    );
}

/** What a person changes on a run under way, and adds to any. */
function changeRoutes(deps: CommandDeps, send: Send) {
  return new Hono()
    .post('/tanks/:id/change', jsonBody(changeBodySchema), (context) =>
      send(context, { kind: 'change', ...asked(context), ...context.req.valid('json') }),
    )
    .post('/tanks/:id/change-look', jsonBody(lookBodySchema), async (context) => {
      const { tankId } = asked(context);
      const command = { kind: 'look-change', tankId, ...context.req.valid('json') } as const;
      const { change } = await obey(deps, command, randomUUID());
      if (change === undefined) throw new ProblemError('unavailable', 'Control did not say.');
      return context.json(change);
    })
    .post('/tanks/:id/turning', jsonBody(turningBodySchema), (context) =>
      send(context, { kind: 'turn-every', ...asked(context), ...context.req.valid('json') }),
    )
    .post('/tanks/:id/turned', jsonBody(onRunBodySchema), (context) =>
      send(context, { kind: 'turned', ...asked(context), ...context.req.valid('json') }),
    )
    .post('/runs/:id/notes', jsonBody(noteBodySchema), (context) => {
      const runId = pathParam(runIdSchema, context.req.param('id'), 'run');
      const note = context.req.valid('json');
      return send(context, { kind: 'run-note', runId, by: byOf(context), note });
    });
}

/** The tank that the address names, and who asked. */
function asked(context: Context): { readonly tankId: string; readonly by: string } {
  return { tankId: tankIdOf(context.req.param('id') ?? ''), by: byOf(context) };
}

/** Who asked, as the run's events name it. */
export function byOf(context: Context): string {
  return signature(context.get('caller'));
}

/** Sends a command and answers with what control said; its refusals become problem documents. */
export async function obey(deps: CommandDeps, command: Command, key: string): Promise<Accepted> {
  const wasAlive = deps.control.alive;
  let answer: CommandAnswer;
  try {
    answer = await within(deps, command, key);
  } catch {
    const place = placeOf(command);
    const detail = wasAlive
      ? `The control process did not answer, so it is not known whether this was done. Look at the ${place} before trying again.`
      : 'The control process is away; nothing was done. It is being started again.';
    throw new ProblemError('unavailable', detail, [], { 'retry-after': '2' });
  }
  if (answer.ok) return answer;
  throw new ProblemError(answer.code, answer.reason, answer.problems);
}

/** Where to look whether a command was done after all. */
function placeOf(command: Command): 'tank' | 'ledger' | 'library' {
  if (command.kind.startsWith('ledger-') || command.kind === 'weigh-in') return 'ledger';
  return 'tankId' in command || ['acknowledge', 'end-interrupted'].includes(command.kind)
    ? 'tank'
    : 'library';
}

/** Off is easy: no body and no key is asked for, and control is tried even when it seems away. */
async function stop(
  deps: CommandDeps,
  command: Extract<Command, { kind: 'stop' }>,
  key: string,
): Promise<Accepted> {
  let answer: CommandAnswer;
  try {
    answer = await within(deps, command, key);
  } catch {
    throw new ProblemError('unavailable', byHand);
  }
  if (!answer.ok) {
    if (answer.code === 'notFound' || answer.code === 'stale') {
      throw new ProblemError(answer.code, answer.reason);
    }
    throw new ProblemError('unavailable', `${byHand} ${answer.reason}`, answer.problems);
  }
  return answer.offConfirmed === true
    ? answer
    : { ...answer, offConfirmed: false, message: byHand };
}

async function within(deps: CommandDeps, command: Command, key: string): Promise<CommandAnswer> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<never>((_resolve, reject) => {
    const timeoutMs = deps.commandTimeoutMs ?? commandTimeoutMs;
    timer = setTimeout(() => reject(new Error('The control process did not answer.')), timeoutMs);
  });
  try {
    return await Promise.race([deps.control.command(command, key), late]);
  } finally {
    clearTimeout(timer);
  }
}

function tankIdOf(id: string): string {
  return pathParam(tankIdSchema, id, 'tank');
}

function givenKey(context: Context): string | null {
  const key = context.req.header('idempotency-key') ?? '';
  if (!/^[A-Za-z0-9._:-]{1,100}$/.test(key)) return null;
  const { session } = context.get('caller');
  if (session === null) return key;
  // A key is its session's own: from another one it is another request, never an old answer.
  const hash = createHash('sha256')
    .update(`${session.id} ${context.req.path} ${key}`)
    .digest('base64url');
  return `session-${hash}`;
}

/** The key that makes a repeat of this request harmless; throws where there is none. */
export function requiredKey(context: Context): string {
  const key = givenKey(context);
  if (key !== null) return key;
  const field = 'idempotency-key';
  const bound = '1 to 100 letters, digits, ".", "_", ":" or "-"';
  const value = context.req.header(field) === undefined ? 'missing' : 'another text';
  const message = `The header ${field} is ${value}; it must be ${bound}.`;
  throw new ProblemError('malformed', message, [{ field, value, bound, message }]);
}
