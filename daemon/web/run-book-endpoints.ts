/** The routes of what a person changes about a run and adds to it, as data. */

import * as z from 'zod/mini';
import {
  changeBodySchema,
  lookBodySchema,
  onRunBodySchema,
  turningBodySchema,
} from '../wire/command.ts';
import { leftSchema } from '../wire/outlook.ts';
import { changeLookSchema, noteBodySchema, plannedCourseSchema } from '../wire/run-book.ts';
import { command, read, told } from './endpoint.ts';
import type { Endpoint } from './endpoint.ts';
import * as shapes from './schemas.ts';

export const runBookEndpoints: readonly Endpoint[] = [
  command(
    '/api/tanks/:id/change',
    'Another target or density while the run is under way, within what it was armed for; `confirmed` where it raises anything.',
    changeBodySchema,
  ),
  {
    method: 'post',
    path: '/api/tanks/:id/change-look',
    summary: 'What such a change would come to. Changes nothing.',
    role: 'view',
    body: lookBodySchema,
    answers: { 200: told(changeLookSchema) },
    problems: [400, 409, 413, 415, 422, 503],
  },
  command(
    '/api/tanks/:id/turning',
    'Reminds of turning the piece every so many minutes; null is never.',
    turningBodySchema,
  ),
  command('/api/tanks/:id/turned', 'The piece has been turned.', onRunBodySchema),
  command('/api/runs/:id/notes', 'A note, a stored photo, or both, on a run.', noteBodySchema),
  read('/api/runs/:id/notes', 'Notes and photos on a run.', shapes.notesSchema, {
    problems: [503],
  }),
  read(
    '/api/runs/:id/planned',
    'What the plan of a run foresees, in columns.',
    plannedCourseSchema,
    {
      problems: [503],
    },
  ),
  read(
    '/api/runs/:id/left',
    'What was left to do when a run was armed that carries another on; null for any other.',
    z.nullable(leftSchema),
    { problems: [503] },
  ),
  read(
    '/api/runs/:id/changes',
    'Changes of target and density, each with the plan until then.',
    shapes.planChangesSchema,
    { problems: [503] },
  ),
];
