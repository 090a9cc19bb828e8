/** The routes of the settings as data; see `endpoints.ts`. */

import {
  bathFileSchema,
  passphraseBodySchema,
  settingsFileSchema,
  settingsHistorySchema,
  settingsSaveBodySchema,
  settingsSavedSchema,
} from '../../wire/settings.ts';
import { command, read, told } from '../endpoint.ts';
import type { Endpoint } from '../endpoint.ts';
import * as shapes from '../schemas.ts';

export const settingsEndpoints: readonly Endpoint[] = [
  read(
    '/api/settings/file',
    'The settings file for changing it; no secret in it.',
    settingsFileSchema,
    {
      role: 'control',
      problems: [409, 422],
    },
  ),
  {
    method: 'post',
    path: '/api/settings/file',
    summary:
      'Changes the settings file in place; comments and order stay. In use after a take-over only.',
    role: 'control',
    body: settingsSaveBodySchema,
    answers: { 200: told(settingsSavedSchema, 'Written.') },
    problems: [400, 409, 413, 415, 422, 503],
  },
  read('/api/settings/baths/:id', 'The file of a bath for changing its figures.', bathFileSchema, {
    role: 'control',
    problems: [422],
  }),
  {
    method: 'post',
    path: '/api/settings/baths/:id',
    summary: "Changes figures of a bath in the maker's own file. In use after a take-over only.",
    role: 'control',
    body: settingsSaveBodySchema,
    answers: { 200: told(shapes.acceptedSchema, 'Written.') },
    problems: [400, 409, 413, 415, 422, 503],
  },
  command(
    '/api/settings/take-over',
    'Starts the bench anew on its settings as they are; refused while anything runs.',
    shapes.emptyBodySchema,
  ),
  read('/api/settings/history', 'Who changed what, the latest first.', settingsHistorySchema, {
    role: 'control',
    problems: [503],
  }),
  {
    method: 'post',
    path: '/api/settings/passphrase',
    summary:
      "Sets or takes away a role's passphrase, from the bench's own machine; in force at once.",
    role: 'control',
    body: passphraseBodySchema,
    answers: { 200: told(shapes.acceptedSchema, 'Done.') },
    problems: [400, 413, 415, 422, 503],
  },
];
