/** Alerts over HTTP: whether somebody would be told, the channels, a test, and that it arrived. */

import { randomUUID } from 'node:crypto';
import { Hono } from 'hono';
import { confirmBodySchema } from '../wire/alerts.ts';
import { jsonBody, pathParam } from './body.ts';
import { byOf, obey, requiredKey, type CommandDeps } from './commands.ts';
import { ProblemError } from './problem.ts';
import { channelNameSchema, emptyBodySchema } from './schemas.ts';

export function alertRoutes(deps: CommandDeps) {
  return new Hono()
    .get('/alerts/readiness', async (context) => {
      const { readiness } = await obey(deps, { kind: 'alert-readiness' }, randomUUID());
      return context.json(said(readiness));
    })
    .get('/alerts/channels', async (context) => {
      const { channels } = await obey(deps, { kind: 'alert-channels' }, randomUUID());
      return context.json(said(channels));
    })
    .post('/alerts/channels/:name/test', jsonBody(emptyBodySchema), async (context) => {
      const channel = pathParam(channelNameSchema, context.req.param('name'), 'channel');
      const command = { kind: 'alert-test', channel, by: byOf(context) } as const;
      return context.json(await obey(deps, command, requiredKey(context)));
    })
    .post('/alerts/confirm', jsonBody(confirmBodySchema), async (context) => {
      const { code } = context.req.valid('json');
      const command = { kind: 'alert-confirm', code, by: byOf(context) } as const;
      return context.json(await obey(deps, command, requiredKey(context)));
    });
}

function said<T>(answer: T | undefined): T {
  if (answer === undefined) throw new ProblemError('unavailable', 'Control did not say.');
  return answer;
}
