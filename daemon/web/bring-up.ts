/** The bring-up of a supply over HTTP: one dialect asked for, and set-points with the output off. */

import { randomUUID } from 'node:crypto';
import { Hono } from 'hono';
import { setBodySchema, setStepsSchema, triedSchema, tryBodySchema } from '../wire/bring-up.ts';
import { jsonBody } from './body.ts';
import { obey, type CommandDeps } from './commands.ts';
import { told } from './endpoint.ts';
import type { Endpoint } from './endpoint.ts';
import { ProblemError } from './problem.ts';

export const bringUpEndpoints: readonly Endpoint[] = [
  {
    method: 'post',
    path: '/api/bring-up/try',
    summary: 'Asks a supply that no tank has who it is, in one dialect. Sets and switches nothing.',
    role: 'control',
    body: tryBodySchema,
    answers: { 200: told(triedSchema, 'What it answered, or why the dialect does not fit.') },
    problems: [400, 409, 413, 415, 422, 503],
  },
  {
    method: 'post',
    path: '/api/bring-up/set',
    summary: 'Sets a low voltage and current with the output off, and reads all back.',
    role: 'control',
    body: setBodySchema,
    answers: { 200: told(setStepsSchema, 'What each step came to.') },
    problems: [400, 409, 413, 415, 422, 503],
  },
];

export function bringUpRoutes(deps: CommandDeps) {
  return new Hono()
    .post('/bring-up/try', jsonBody(tryBodySchema), async (context) => {
      const command = { kind: 'bring-up-try', ...context.req.valid('json') } as const;
      const { tried } = await obey(deps, command, randomUUID());
      return context.json(said(tried));
    })
    .post('/bring-up/set', jsonBody(setBodySchema), async (context) => {
      const command = { kind: 'bring-up-set', ...context.req.valid('json') } as const;
      const { steps } = await obey(deps, command, randomUUID());
      return context.json(said(steps));
    });
}

function said<T>(answer: T | undefined): T {
  if (answer === undefined) throw new ProblemError('unavailable', 'Control did not say.');
  return answer;
}
