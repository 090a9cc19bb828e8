/** The bench by GET, and plans: tanks, baths, parts, and what a run would be before it is one. */

import { Hono } from 'hono';
import type { Context } from 'hono';
import type { Bath } from '../chemistry/model.ts';
import type { Problem } from '../piece/model.ts';
import type { Material } from '../piece/material.ts';
import { partDefinitions } from '../piece/parts.ts';
import { typicalDrawing } from '../piece/typical-drawing.ts';
import type { PlanContext, PlanQuestion, TankFacts } from '../run/model.ts';
import { comparePlans } from '../run/plan-compare.ts';
import { measurePiece } from '../run/measured-piece.ts';
import { planAhead } from '../run/outlook.ts';
import { pieceTyped, typedPieceSchema } from '../wire/measured-piece.ts';
import { compareBodySchema, planAskSchema } from '../wire/plan.ts';
import { bathInTank, StoreError } from '../store/door.ts';
import type { AdoptedEntry, StoreReader } from '../store/door.ts';
import type { BenchState } from './bench-state.ts';
import { jsonBody, pathParam, pieceBodyBytes } from './body.ts';
import { ProblemError, shownValue } from './problem.ts';
import { tankIdSchema } from './schemas.ts';

export interface BenchDeps {
  readonly bench: BenchState;
  readonly baths: readonly Bath[];
  /** Of it only the efficiencies that were taken over from weigh-ins. */
  readonly reader: StoreReader;
  /** The table that the materials of pieces are judged by. */
  readonly materials: readonly Material[];
  /** Wall time, ms since the epoch. */
  readonly nowMs: () => number;
}

export function benchRoutes({ bench, baths, reader, materials, nowMs }: BenchDeps) {
  const parts = partDefinitions.map(
    ({ kind, group, title, explanation, areaUncertainty, fields }) => ({
      kind,
      group,
      title,
      explanation,
      areaUncertainty,
      fields,
    }),
  );
  const drawings = Object.fromEntries(
    partDefinitions.map((definition) => [definition.kind, typicalDrawing(definition)]),
  );
  const shelf = { bench, baths, adopted: () => adoptedBy(reader) };
  const around = () => ({ ...hour(nowMs), materials });
  return new Hono()
    .get('/bench', (context) => context.json(bench.snapshot()))
    .get('/tanks', (context) => context.json(bench.tanks()))
    .get('/interrupted', (context) => context.json(bench.interrupted))
    .get('/tanks/:id', (context) => {
      const tank = bench.tank(pathParam(tankIdSchema, context.req.param('id'), 'tank'));
      if (tank === null) throw new ProblemError('notFound', 'There is no tank of that name.');
      return context.json(tank);
    })
    .get('/baths', (context) => context.json(baths))
    .get('/parts', (context) => context.json(parts))
    .get('/parts/drawings', (context) => context.json(drawings))
    .get('/live', () => {
      const detail = 'The live socket is a WebSocket; ask for an upgrade.';
      throw new ProblemError('upgradeRequired', detail, [], { upgrade: 'websocket' });
    })
    .post('/plans', jsonBody(planAskSchema, cannotPlan, pieceBodyBytes), (context) => {
      const { carriedAmpHours, ...question } = context.req.valid('json');
      const place = placeOf(question, shelf);
      const known = { ...around(), carriedAmpHours };
      const result = place.ok ? planAhead(question, place.bath, place.tank, known) : place;
      return context.json(result, result.ok ? 200 : 422);
    })
    .post('/plans/compare', jsonBody(compareBodySchema, cannotPlan, pieceBodyBytes), (context) => {
      const { plan, densitiesAmpsPerDm2, carriedAmpHours } = context.req.valid('json');
      const place = placeOf(plan, shelf);
      const known = { ...around(), carriedAmpHours };
      const result = place.ok
        ? comparePlans(plan, densitiesAmpsPerDm2, place.bath, place.tank, known)
        : place;
      return context.json(result, result.ok ? 200 : 422);
    })
    .post('/parts/measure', jsonBody(typedPieceSchema, undefined, pieceBodyBytes), (context) =>
      context.json(measurePiece(pieceTyped(context.req.valid('json')))),
    );
}

/** The hour and the zone of this machine, for targets by the clock that bring none of their own. */
function hour(nowMs: () => number): PlanContext {
  return { nowWallMs: nowMs(), timeZone: Intl.DateTimeFormat().resolvedOptions().timeZone };
}

/** One shape for all that stands in the way of a plan, be it the schema's or the planner's. */
function cannotPlan(context: Context, problems: readonly Problem[]): Response {
  return context.json({ ok: false, problems }, 422);
}

type Place =
  | { readonly ok: true; readonly bath: Bath; readonly tank: TankFacts }
  | { readonly ok: false; readonly problems: readonly Problem[] };

interface Shelf {
  readonly bench: BenchState;
  readonly baths: readonly Bath[];
  readonly adopted: () => readonly AdoptedEntry[];
}

/** A log that cannot be read holds no plan up; arming, which needs it, then refuses. */
function adoptedBy({ ledger }: Pick<StoreReader, 'ledger'>): readonly AdoptedEntry[] {
  try {
    return ledger.adopted();
  } catch (error) {
    if (error instanceof StoreError) return [];
    throw error;
  }
}

/** The bath and the tank that a question names; both have to be known. */
function placeOf(request: PlanQuestion, { bench, baths, adopted }: Shelf): Place {
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
  return { ok: true, bath: bathInTank(bath, tank.id, adopted()), tank: tank.facts };
}

function unknownName(field: string, name: string, known: readonly string[]): Problem {
  const value = shownValue(name);
  const bound = `one of ${known.join(', ')}`;
  return { field, value, bound, message: `${field} is ${value}; it must be ${bound}.` };
}
