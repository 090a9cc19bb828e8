/** The bench by GET, and plans: tanks, baths, parts, and what a run would be before it is one. */

import { Hono } from 'hono';
import type { Context } from 'hono';
import type { Bath } from '../chemistry/model.ts';
import type { Problem } from '../piece/model.ts';
import { partDefinitions } from '../piece/parts.ts';
import type { PlanRequest, PlanResult } from '../run/model.ts';
import { planRun } from '../run/plan.ts';
import { planRequestSchema } from '../wire/plan.ts';
import type { BenchState } from './bench-state.ts';
import { jsonBody, pathParam } from './body.ts';
import { ProblemError, shownValue } from './problem.ts';
import { tankIdSchema } from './schemas.ts';

export interface BenchDeps {
  readonly bench: BenchState;
  readonly baths: readonly Bath[];
}

export function benchRoutes({ bench, baths }: BenchDeps) {
  const parts = partDefinitions.map(({ kind, title, explanation, fields }) => ({
    kind,
    title,
    explanation,
    fields,
  }));
  return new Hono()
    .get('/bench', (context) => context.json(bench.snapshot()))
    .get('/tanks', (context) => context.json(bench.tanks()))
    .get('/tanks/:id', (context) => {
      const tank = bench.tank(pathParam(tankIdSchema, context.req.param('id'), 'tank'));
      if (tank === null) throw new ProblemError('notFound', 'There is no tank of that name.');
      return context.json(tank);
    })
    .get('/baths', (context) => context.json(baths))
    .get('/parts', (context) => context.json(parts))
    .get('/live', () => {
      const detail = 'The live socket is a WebSocket; ask for an upgrade.';
      throw new ProblemError('upgradeRequired', detail, [], { upgrade: 'websocket' });
    })
    .post('/plans', jsonBody(planRequestSchema, cannotPlan), (context) => {
      const result = plan(context.req.valid('json'), bench, baths);
      return context.json(result, result.ok ? 200 : 422);
    });
}

/** One shape for all that stands in the way of a plan, be it the schema's or the planner's. */
function cannotPlan(context: Context, problems: readonly Problem[]): Response {
  return context.json({ ok: false, problems }, 422);
}

/** Plans with the bath and the tank that the request names; both have to be known. */
function plan(request: PlanRequest, bench: BenchState, baths: readonly Bath[]): PlanResult {
  const bath = baths.find(({ id }) => id === request.bathId);
  const tank = bench.tank(request.tankId);
  if (tank === null && bench.tanks().length === 0) {
    const detail = 'Nothing is known of the tanks yet: the control process has not spoken.';
    throw new ProblemError('unavailable', detail, [], { 'retry-after': '2' });
  }
  const problems: Problem[] = [];
  if (tank === null) {
    const known = bench.tanks().map(({ id }) => id);
    problems.push(unknownName('tankId', request.tankId, known));
  }
  if (bath === undefined) {
    const known = baths.map(({ id }) => id);
    problems.push(unknownName('bathId', request.bathId, known));
  }
  if (tank === null || bath === undefined) return { ok: false, problems };
  return planRun(request, bath, tank.facts);
}

function unknownName(field: string, name: string, known: readonly string[]): Problem {
  const value = shownValue(name);
  const bound = `one of ${known.join(', ')}`;
  return { field, value, bound, message: `${field} is ${value}; it must be ${bound}.` };
}
