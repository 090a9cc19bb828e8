/** Ledgers and weigh-ins by HTTP: worked out from the store, changed through control. */

import { Hono } from 'hono';
import type { Context } from 'hono';
import { symptoms } from '../chemistry/symptoms.ts';
import type { Bath } from '../chemistry/model.ts';
import type { Settings } from '../settings/model.ts';
import { ledgerLines, ledgerTank, ledgerView, weighInView } from '../store/door.ts';
import type { LedgerGround, LedgerPlace, StoreReader } from '../store/door.ts';
import { addEntryBodySchema, changeEntryBodySchema } from '../wire/ledger.ts';
import { weighInBodySchema } from '../wire/weigh-in.ts';
import { jsonBody, pathParam } from './body.ts';
import { byOf, obey, requiredKey, type CommandDeps } from './commands.ts';
import { findRun } from './log.ts';
import { ProblemError } from './problem.ts';
import { entryIdSchema, tankIdSchema } from './schemas.ts';

export interface LedgerDeps extends CommandDeps {
  readonly reader: StoreReader;
  readonly settings: Settings;
  readonly baths: readonly Bath[];
}

export function ledgerRoutes(deps: LedgerDeps) {
  return new Hono().route('/', bathRoutes(deps)).route('/', weighInRoutes(deps));
}

function bathRoutes(deps: LedgerDeps) {
  const { reader, baths } = deps;
  const tanks = deps.settings.tanks.map(ledgerTank);
  const ground: LedgerGround = { reader, tanks, baths };
  return new Hono()
    .get('/ledger', (context) => context.json(ledgerLines(ground)))
    .get('/symptoms', (context) => context.json(symptoms))
    .get('/ledger/:tank/:bath', (context) =>
      context.json(ledgerView(ground, placeOf(ground, context))),
    )
    .post('/ledger/:tank/:bath/entries', jsonBody(addEntryBodySchema), async (context) => {
      const place = placeOf(ground, context);
      const body = context.req.valid('json');
      const command = { kind: 'ledger-add', ...place, by: byOf(context), ...body } as const;
      const { entry } = await obey(deps, command, requiredKey(context));
      return context.json(said(entry));
    })
    .put('/ledger-entries/:id', jsonBody(changeEntryBodySchema), async (context) => {
      const entryId = entryIdOf(context);
      const body = context.req.valid('json');
      const command = { kind: 'ledger-change', entryId, by: byOf(context), ...body } as const;
      const { entry } = await obey(deps, command, requiredKey(context));
      return context.json(said(entry));
    })
    .get('/ledger-entries/:id/versions', (context) => {
      const versions = reader.ledger.entryVersions(entryIdOf(context));
      if (versions.length === 0) throw new ProblemError('notFound', 'There is no such entry.');
      return context.json(versions);
    });
}

function weighInRoutes(deps: LedgerDeps) {
  const { reader } = deps;
  return new Hono()
    .get('/runs/:id/weigh-in', (context) =>
      context.json(weighInView(reader, findRun(reader, context.req.param('id')))),
    )
    .get('/runs/:id/weigh-in/versions', (context) => {
      const { id } = findRun(reader, context.req.param('id'));
      return context.json(reader.ledger.weighInVersions(id));
    })
    .put('/runs/:id/weigh-in', jsonBody(weighInBodySchema), async (context) => {
      const run = findRun(reader, context.req.param('id'));
      if (run.kind === 'probe') {
        throw new ProblemError('refused', 'This was a short check: it grows nothing to weigh.');
      }
      const body = context.req.valid('json');
      const command = { kind: 'weigh-in', runId: run.id, by: byOf(context), ...body } as const;
      await obey(deps, command, requiredKey(context));
      return context.json(weighInView(reader, run));
    });
}

function said<T>(answer: T | undefined): T {
  if (answer === undefined) throw new ProblemError('unavailable', 'Control did not say.');
  return answer;
}

function entryIdOf(context: Context): number {
  return pathParam(entryIdSchema, context.req.param('id') ?? '', 'entry');
}

/** A bath of the settings, or one that something is on record of. */
function placeOf(ground: LedgerGround, context: Context): LedgerPlace {
  const tankId = pathParam(tankIdSchema, context.req.param('tank') ?? '', 'tank');
  const bathId = pathParam(tankIdSchema, context.req.param('bath') ?? '', 'bath');
  const known =
    ground.tanks.some(({ id, bath }) => id === tankId && bath === bathId) ||
    ground.reader.ledger
      .places()
      .some((place) => place.tankId === tankId && place.bathId === bathId);
  if (!known) throw new ProblemError('notFound', 'There is no ledger of that bath in that tank.');
  return { tankId, bathId };
}
