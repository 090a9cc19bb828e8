/** Every route of the API as data: what it takes and what it answers. The OpenAPI document is made from it. */

import * as z from 'zod/mini';
import { alertReadinessSchema, confirmBodySchema } from '../wire/alerts.ts';
import { benchSnapshotSchema, liveMessageSchema, tankSnapshotSchema } from '../wire/bench.ts';
import { tankChecksSchema } from '../wire/checks.ts';
import { armBodySchema, onRunBodySchema, startBodySchema } from '../wire/command.ts';
import { endBodySchema } from '../wire/interrupted.ts';
import { crossSectionSchema, logPageSchema, portraitSchema, runFolderSchema } from '../wire/log.ts';
import { materialsJudgementSchema } from '../wire/materials.ts';
import { meshAnswerSchema } from '../wire/mesh.ts';
import { probeBodySchema } from '../wire/probe.ts';
import { runDocumentSchema } from '../wire/run-document.ts';
import { runRecordSchema, seriesSchema } from '../wire/run.ts';
import { signInBodySchema, standingSchema } from '../wire/session.ts';
import { sizeQuestionSchema, sizeResultSchema } from '../wire/sizes.ts';
import { bringUpEndpoints } from './bring-up.ts';
import { command, read, told } from './endpoint.ts';
import type { Endpoint } from './endpoint.ts';
import { ledgerEndpoints } from './ledger-endpoints.ts';
import { libraryEndpoints } from './library-endpoints.ts';
import { meshQuerySchema } from './meshes/door.ts';
import { planEndpoints } from './plan-endpoints.ts';
import { runBookEndpoints } from './run-book-endpoints.ts';
import * as shapes from './schemas.ts';
import { settingsEndpoints } from './settings/endpoints.ts';

function download(
  path: string,
  summary: string,
  mediaType: string,
  schema?: z.ZodMiniType,
): Endpoint {
  const description = 'The whole run, streamed.';
  const answer = { description, mediaType, ...(schema !== undefined && { schema }) };
  return { method: 'get', path, summary, role: 'view', answers: { 200: answer }, problems: [503] };
}

const benchEndpoints: readonly Endpoint[] = [
  read('/api/bench', 'The bench now, and whether control is there.', benchSnapshotSchema),
  read('/api/tanks', 'All tanks as last told by control.', shapes.tanksSchema),
  read('/api/tanks/:id', 'One tank.', tankSnapshotSchema),
  read(
    '/api/interrupted',
    'Runs that were cut short and wait to be carried on or ended; carry on by arming.',
    shapes.interruptedSchema,
  ),
  read('/api/baths', 'The baths that plans may use.', shapes.bathsSchema),
  read('/api/parts', 'Kinds of parts a piece is made of, with their sizes.', shapes.partsSchema),
  read('/api/parts/drawings', 'Each kind with its usual sizes, drawn.', shapes.drawingsSchema),
  read('/api/ports', 'Serial ports of this machine.', shapes.portsSchema, {
    role: 'control',
    problems: [503],
  }),
  read('/api/settings', 'The settings in use, without anything secret.', shapes.settingsViewSchema),
  ...planEndpoints,
  {
    method: 'post',
    path: '/api/meshes',
    summary: 'Measures a mesh (STL, OBJ, 3MF): area, volume, growth, and a drawing. Keeps nothing.',
    // A file that somebody else wrote is read for those only who could run it.
    role: 'control',
    query: meshQuerySchema,
    upload: ['application/octet-stream'],
    answers: { 200: told(meshAnswerSchema, 'What was measured, in units of the file.') },
    problems: [413, 415, 422, 503],
  },
  {
    method: 'get',
    path: '/api/live',
    summary: 'The live socket (WebSocket): server to page only; each message is one JSON object.',
    role: 'view',
    answers: { 101: told(liveMessageSchema, 'Switching to a WebSocket; the messages on it.') },
    problems: [426, 503],
  },
];

const referenceEndpoints: readonly Endpoint[] = [
  read('/api/materials', 'What the bath does to materials: advice.', shapes.materialsSchema),
  read('/api/materials/search', 'Materials by a typed name.', shapes.materialMatchesSchema, {
    query: shapes.materialSearchQuerySchema,
  }),
  read('/api/materials/judgement', 'Judges materials, the worst first.', materialsJudgementSchema, {
    query: shapes.materialIdsQuerySchema,
  }),
  read('/api/ring-scales', 'Ring scales with their sizes.', shapes.ringTablesSchema),
  read('/api/wire-gauges', 'Wire gauges with their diameters.', shapes.gaugeTablesSchema),
  {
    method: 'post',
    path: '/api/sizes',
    summary: 'Ring sizes, wires, and "end at this size" solved backwards. Changes nothing.',
    role: 'view',
    body: sizeQuestionSchema,
    answers: {
      200: told(sizeResultSchema.def.options[0], 'The answer.'),
      422: told(sizeResultSchema.def.options[1], 'What stands in its way.'),
    },
    problems: [400, 413, 415],
  },
];

const commandEndpoints: readonly Endpoint[] = [
  command('/api/tanks/:id/arm', 'Programs the limits and makes a run ready.', armBodySchema),
  command('/api/tanks/:id/start', 'Switches the output on for the armed run.', startBodySchema),
  read('/api/tanks/:id/checks', 'The checks before a start, as things are now.', tankChecksSchema, {
    problems: [503],
  }),
  command(
    '/api/tanks/:id/probe',
    'A continuity check or a limits drill: a few seconds at a low current, recorded.',
    probeBodySchema,
  ),
  command('/api/tanks/:id/disarm', 'Takes back an armed run.', onRunBodySchema),
  command('/api/tanks/:id/lift', 'Output off while the piece is looked at.', onRunBodySchema),
  command('/api/tanks/:id/put-back', 'Goes on after a lift.', onRunBodySchema),
  {
    ...command(
      '/api/tanks/:id/stop',
      'Output off. Always tried; `offConfirmed` says whether it was read back as off. With `runId`, 409 while another run is on the tank, which is left as it is.',
      shapes.emptyBodySchema,
      'optional',
      'stop',
    ),
    query: shapes.stopQuerySchema,
  },
  command(
    '/api/tanks/:id/demo',
    'Simulated tanks only: runs the demo piece in a hurry.',
    shapes.emptyBodySchema,
  ),
  command(
    '/api/runs/:id/end',
    'Ends an interrupted run here: it is kept as it is, with a note, and waits no more.',
    endBodySchema,
  ),
  command('/api/alarms/:id/acknowledge', 'Acknowledges an alarm.', shapes.emptyBodySchema),
  command(
    '/api/alerts/channels/:name/test',
    'Sends a test on one channel, and says what became of it.',
    shapes.emptyBodySchema,
  ),
  command(
    '/api/alerts/confirm',
    'A test has arrived: the code that stood in it.',
    confirmBodySchema,
  ),
];

const logEndpoints: readonly Endpoint[] = [
  read('/api/runs', 'Runs, the latest first.', shapes.runsSchema, {
    query: shapes.runsQuerySchema,
    problems: [422, 503],
  }),
  read('/api/log', 'Runs by piece, bath, result and day; a page of them.', logPageSchema, {
    query: shapes.logQuerySchema,
    problems: [422, 503],
  }),
  read('/api/runs/:id/portrait', 'What thumbnails of a run are drawn from.', portraitSchema, {
    problems: [503],
  }),
  read(
    '/api/runs/:id/sections',
    'The cut through each part of the piece, in the order of its parts.',
    z.array(crossSectionSchema),
    { problems: [503] },
  ),
  read('/api/runs/:id', 'One run with its plan.', runRecordSchema, { problems: [503] }),
  read(
    '/api/runs/:id/folder',
    'All that shows one run in one answer: document, curves, events, alarms, sensors, cuts.',
    runFolderSchema,
    { query: shapes.folderQuerySchema, problems: [422, 503] },
  ),
  read('/api/runs/:id/readings', 'A page of stored readings.', shapes.readingsSchema, {
    query: shapes.readingsQuerySchema,
    problems: [422, 503],
  }),
  read('/api/runs/:id/series', 'The run in columns for charts and replay.', seriesSchema, {
    query: shapes.seriesQuerySchema,
    problems: [422, 503],
  }),
  read('/api/runs/:id/events', 'The events of a run.', shapes.eventsSchema, { problems: [503] }),
  read('/api/runs/:id/alarms', 'The alarms of a run.', shapes.alarmsSchema, { problems: [503] }),
  read('/api/runs/:id/sensors', 'What sensors of the bath said.', shapes.sensorsSchema, {
    query: shapes.sensorsQuerySchema,
    problems: [422, 503],
  }),
  download('/api/runs/:id/export.csv', 'The readings of a run as CSV.', 'text/csv'),
  download('/api/runs/:id/events-export.csv', 'The events of a run as CSV.', 'text/csv'),
  download(
    '/api/runs/:id/sensors-export.csv',
    'What sensors of the bath said, as CSV.',
    'text/csv',
  ),
  download(
    '/api/runs/:id/export.json',
    'The run with all it recorded, and what its weigh-in gives.',
    'application/json',
    runDocumentSchema,
  ),
  read('/api/alarms', 'Alarms, the latest first.', shapes.alarmsSchema, {
    query: shapes.pagedQuerySchema,
    problems: [422, 503],
  }),
  read('/api/alerts/deliveries', 'What was said outside, by channel.', shapes.deliveriesSchema, {
    query: shapes.pagedQuerySchema,
    problems: [422, 503],
  }),
  read('/api/alerts/channels', 'Channels and how they do.', shapes.alertChannelsSchema, {
    problems: [503],
  }),
  read('/api/alerts/readiness', 'Whether a person would be told.', alertReadinessSchema, {
    problems: [503],
  }),
  read('/api/events', 'Events of all runs, the latest first.', shapes.eventsSchema, {
    query: shapes.recentQuerySchema,
    problems: [422, 503],
  }),
];

const systemEndpoints: readonly Endpoint[] = [
  read('/api/health', 'What works and what does not.', shapes.healthSchema),
  read('/healthz', 'Answers while this process serves; says nothing else.', shapes.aliveSchema, {
    role: 'open',
  }),
  {
    method: 'get',
    path: '/readyz',
    summary: 'Whether the bench can be used: control, log and every supply.',
    role: 'view',
    answers: {
      200: told(shapes.readySchema, 'Ready.'),
      503: told(shapes.readySchema, 'Not ready; what is missing.'),
    },
    problems: [],
  },
  {
    method: 'get',
    path: '/api/openapi.json',
    summary: 'This document.',
    role: 'view',
    answers: { 200: { description: 'OpenAPI 3.1.' } },
    problems: [],
  },
];

const accessEndpoints: readonly Endpoint[] = [
  read('/api/session', 'Who is asking: the role, and whether by a session.', standingSchema, {
    role: 'open',
  }),
  {
    method: 'post',
    path: '/api/session',
    summary: 'Signs in; the session is a cookie. One answer for all that is not right.',
    role: 'open',
    body: signInBodySchema,
    answers: { 200: told(standingSchema, 'Signed in.') },
    problems: [400, 413, 415, 422, 429],
  },
  {
    method: 'delete',
    path: '/api/session',
    summary: 'Signs out; its live sockets are closed.',
    role: 'open',
    answers: { 200: told(standingSchema, 'Signed out.') },
    problems: [],
  },
  read('/api/sessions', 'Who is signed in, and from where.', shapes.sessionsSchema, {
    role: 'control',
  }),
  {
    method: 'delete',
    path: '/api/sessions',
    summary: 'Signs everybody out.',
    role: 'control',
    answers: { 200: told(shapes.sessionsSchema, 'Nobody is left.') },
    problems: [],
  },
];

export const endpoints: readonly Endpoint[] = [
  ...accessEndpoints,
  ...benchEndpoints,
  ...referenceEndpoints,
  ...commandEndpoints,
  ...runBookEndpoints,
  ...libraryEndpoints,
  ...ledgerEndpoints,
  ...logEndpoints,
  ...settingsEndpoints,
  ...bringUpEndpoints,
  ...systemEndpoints,
];
