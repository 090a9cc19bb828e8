/** Exports of a run as CSV and JSON: streamed in slices, one at a time. */

import { Hono } from 'hono';
import type { Context } from 'hono';
import { csvLines, eventCsvLines, sensorCsvLines, runDocument } from '../store/door.ts';
import type { StoreReader } from '../store/door.ts';
import { ExportDesk } from './export-desk.ts';
import { findRun } from './log.ts';

type Write = (reader: StoreReader, runId: string) => Generator<string>;

export function exportRoutes(reader: StoreReader, stallMs?: number) {
  const desk = new ExportDesk(stallMs);
  const download = (context: Context, write: Write, ending: string, mediaType: string) => {
    const { id } = findRun(reader, context.req.param('id') ?? '');
    const headers = {
      'content-type': mediaType,
      'content-disposition': `attachment; filename="run-${id}.${ending}"`,
    };
    // A HEAD request learns the headers and leaves the desk alone: nobody would read its stream.
    if (context.req.method === 'HEAD') return context.body(null, 200, headers);
    return context.body(desk.stream(write(reader, id)), 200, headers);
  };
  return new Hono()
    .get('/runs/:id/export.csv', (context) =>
      download(context, csvLines, 'csv', 'text/csv; charset=utf-8'),
    )
    .get('/runs/:id/events-export.csv', (context) =>
      download(context, eventCsvLines, 'events.csv', 'text/csv; charset=utf-8'),
    )
    .get('/runs/:id/sensors-export.csv', (context) =>
      download(context, sensorCsvLines, 'sensors.csv', 'text/csv; charset=utf-8'),
    )
    .get('/runs/:id/export.json', (context) =>
      download(context, runDocument, 'json', 'application/json'),
    );
}
