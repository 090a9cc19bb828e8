/** The routes of ledgers and weigh-ins as data. */

import * as z from 'zod/mini';
import {
  addEntryBodySchema,
  changeEntryBodySchema,
  ledgerLineSchema,
  ledgerViewSchema,
  savedEntrySchema,
  symptomSchema,
} from '../wire/ledger.ts';
import { savedWeighInSchema, weighInBodySchema, weighInViewSchema } from '../wire/weigh-in.ts';
import { read, told } from './endpoint.ts';
import type { Endpoint } from './endpoint.ts';

function change(
  method: 'post' | 'put',
  path: string,
  summary: string,
  body: z.ZodMiniType,
  answer: z.ZodMiniType,
): Endpoint {
  return {
    method,
    path,
    summary,
    role: 'control',
    body,
    key: 'required',
    answers: { 200: told(answer, 'As it now stands.') },
    problems: [400, 409, 413, 415, 422, 503],
  };
}

export const ledgerEndpoints: readonly Endpoint[] = [
  read('/api/ledger', 'The ledger of each bath, and what is due.', z.array(ledgerLineSchema), {
    problems: [503],
  }),
  read(
    '/api/symptoms',
    'What a deposit can look like, with likely causes and their sources.',
    z.array(symptomSchema),
  ),
  read('/api/ledger/:tank/:bath', 'The ledger of one bath, worked out now.', ledgerViewSchema, {
    problems: [503],
  }),
  change(
    'post',
    '/api/ledger/:tank/:bath/entries',
    'Enters something that was done to a bath or seen on it.',
    addEntryBodySchema,
    savedEntrySchema,
  ),
  change(
    'put',
    '/api/ledger-entries/:id',
    'Corrects an entry or takes it back; what it was is kept. 409 where it was changed meanwhile.',
    changeEntryBodySchema,
    savedEntrySchema,
  ),
  read(
    '/api/ledger-entries/:id/versions',
    'Every version of an entry, the newest first.',
    z.array(savedEntrySchema),
    { problems: [503] },
  ),
  read(
    '/api/runs/:id/weigh-in',
    'The weigh-in of a run: what was weighed, what follows, what it offers. Applies nothing.',
    weighInViewSchema,
    { problems: [503] },
  ),
  read(
    '/api/runs/:id/weigh-in/versions',
    'Every version of the weigh-in of a run, the newest first.',
    z.array(savedWeighInSchema),
    { problems: [503] },
  ),
  change(
    'put',
    '/api/runs/:id/weigh-in',
    'Saves the weigh-in of a run, or takes it back; what it was is kept.',
    weighInBodySchema,
    weighInViewSchema,
  ),
];
