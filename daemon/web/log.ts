/** The log by GET: runs, readings, series, events and alarms, read from the store and never written. */

import { Hono } from 'hono';
import type { CrossSection } from '../piece/model.ts';
import { sectionOf } from '../piece/section.ts';
import { leftOf } from '../run/left.ts';
import { plannedCourse, stretchesOf } from '../run/planned-course.ts';
import type { StoreReader } from '../store/door.ts';
import type { RunFolderView } from '../wire/log.ts';
import type { PlannedCourse } from '../wire/run-book.ts';
import { runIdSchema } from '../wire/run.ts';
import type { RunRecord } from '../wire/run.ts';
import { pathParam, query } from './body.ts';
import { readPortrait } from './portrait.ts';
import { ProblemError } from './problem.ts';
import {
  folderQuerySchema,
  logQuerySchema,
  pagedQuerySchema,
  readingsQuerySchema,
  recentQuerySchema,
  runsQuerySchema,
  sensorsQuerySchema,
  seriesQuerySchema,
} from './schemas.ts';

export function logRoutes(reader: StoreReader) {
  return new Hono().route('/', listRoutes(reader)).route('/', runRoutes(reader));
}

function listRoutes(reader: StoreReader) {
  return new Hono()
    .get('/runs', query(runsQuerySchema), (context) => {
      const { tank, before, limit } = context.req.valid('query');
      const filter = {
        limit,
        ...(tank !== undefined && { tankId: tank }),
        ...(before !== undefined && { beforeWallMs: before }),
      };
      return context.json(reader.runs(filter));
    })
    .get('/log', query(logQuerySchema), (context) => {
      const { piece, bath, result, tank, from, to, skip, limit } = context.req.valid('query');
      const page = reader.searchLog({
        skip,
        limit,
        ...(piece !== undefined && { piece }),
        ...(bath !== undefined && { bath }),
        ...(result !== undefined && { result }),
        ...(tank !== undefined && { tankId: tank }),
        ...(from !== undefined && { fromWallMs: from }),
        ...(to !== undefined && { toWallMs: to }),
      });
      return context.json(page);
    })
    .get('/alarms', query(pagedQuerySchema), (context) => {
      const { limit, before } = context.req.valid('query');
      return context.json(reader.alarms(limit, before));
    })
    .get('/alerts/deliveries', query(pagedQuerySchema), (context) => {
      const { limit, before } = context.req.valid('query');
      return context.json(reader.deliveries(limit, before));
    })
    .get('/events', query(recentQuerySchema), (context) =>
      context.json(reader.recentEvents(context.req.valid('query').limit)),
    );
}

/** One run by its id. */
function runRoutes(reader: StoreReader) {
  return new Hono()
    .get('/runs/:id/portrait', (context) =>
      context.json(readPortrait(reader, findRun(reader, context.req.param('id')))),
    )
    .get('/runs/:id/folder', query(folderQuerySchema), (context) => {
      const run = findRun(reader, context.req.param('id'));
      return context.json(folderOf(reader, run, context.req.valid('query').points));
    })
    .get('/runs/:id/sections', (context) =>
      context.json(sectionsOf(findRun(reader, context.req.param('id')))),
    )
    .get('/runs/:id/alarms', (context) => {
      const { id } = findRun(reader, context.req.param('id'));
      return context.json(reader.alarmsOf(id));
    })
    .get('/runs/:id', (context) => context.json(findRun(reader, context.req.param('id'))))
    .get('/runs/:id/readings', query(readingsQuerySchema), (context) => {
      const { id } = findRun(reader, context.req.param('id'));
      const { from, limit } = context.req.valid('query');
      return context.json(reader.readings(id, from, limit));
    })
    .get('/runs/:id/series', query(seriesQuerySchema), (context) => {
      const { buckets } = context.req.valid('query');
      const id = pathParam(runIdSchema, context.req.param('id'), 'run');
      const series = reader.series(id, buckets);
      if (series === null) throw noRun();
      return context.json(series);
    })
    .get('/runs/:id/events', (context) => {
      const { id } = findRun(reader, context.req.param('id'));
      return context.json(reader.events(id));
    })
    .get('/runs/:id/sensors', query(sensorsQuerySchema), (context) => {
      const { id } = findRun(reader, context.req.param('id'));
      return context.json(reader.sensors(id, context.req.valid('query').points));
    })
    .get('/runs/:id/notes', (context) => {
      const { id } = findRun(reader, context.req.param('id'));
      return context.json(reader.notes(id));
    })
    .get('/runs/:id/planned', (context) =>
      context.json(plannedOf(reader, findRun(reader, context.req.param('id')))),
    )
    .get('/runs/:id/left', (context) => {
      const { plan, continues, carriedAmpHours } = findRun(reader, context.req.param('id'));
      return context.json(continues === null ? null : leftOf(plan, carriedAmpHours));
    })
    .get('/runs/:id/changes', (context) => {
      const { id } = findRun(reader, context.req.param('id'));
      return context.json(reader.planChanges(id));
    });
}

/** The run of that id, or a problem document. */
export function findRun(reader: StoreReader, param: string): RunRecord {
  const run = reader.run(pathParam(runIdSchema, param, 'run'));
  if (run === null) throw noRun();
  return run;
}

function noRun(): ProblemError {
  return new ProblemError('notFound', 'There is no run of that name.');
}

function sectionsOf({ plan }: RunRecord): CrossSection[] {
  const { piece } = plan.request;
  return piece.parts.map((_, index) => sectionOf(piece, index));
}

/** All that shows a run; what was written between one read and the next is in the later one. */
function folderOf(reader: StoreReader, run: RunRecord, points: number): RunFolderView {
  const series = reader.series(run.id, points);
  if (series === null) throw noRun();
  return {
    record: run,
    series,
    events: [...reader.events(run.id)],
    alarms: [...reader.alarmsOf(run.id)],
    sensors: [...reader.sensors(run.id, points)],
    sections: sectionsOf(run),
  };
}

/** What the plan of a run foresees; a check foresees nothing. */
function plannedOf(reader: StoreReader, { id, kind, plan }: RunRecord): PlannedCourse {
  if (kind === 'probe') return { atMs: [], amps: [], ampHours: [], thicknessMicrometres: [] };
  const grownAt = (atMs: number): number =>
    reader.readings(id, atMs, 1)[0]?.thicknessMicrometres ?? 0;
  const { atMs, amps, ampHours, thicknessMicrometres } = plannedCourse(
    stretchesOf(plan, reader.planChanges(id), grownAt),
  );
  return {
    atMs: [...atMs],
    amps: [...amps],
    ampHours: [...ampHours],
    thicknessMicrometres: [...thicknessMicrometres],
  };
}
