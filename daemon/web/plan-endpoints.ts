/** The routes that plan, compare and measure what was typed, and change nothing, as data. */

import { comparisonSchema } from '../wire/compare.ts';
import { measuredPieceSchema, typedPieceSchema } from '../wire/measured-piece.ts';
import { plannedSchema } from '../wire/outlook.ts';
import { compareBodySchema, planAskSchema } from '../wire/plan.ts';
import { told } from './endpoint.ts';
import type { Endpoint } from './endpoint.ts';

export const planEndpoints: readonly Endpoint[] = [
  {
    method: 'post',
    path: '/api/plans',
    summary: 'Plans a run: current, stages, time, charge, notices. Changes nothing.',
    role: 'view',
    body: planAskSchema,
    answers: {
      200: told(plannedSchema.def.options[0], 'The plan; it may still hold notices that refuse.'),
      422: told(plannedSchema.def.options[1], 'Nothing can be planned from this; the reasons.'),
    },
    problems: [400, 413, 415, 503],
  },
  {
    method: 'post',
    path: '/api/plans/compare',
    summary: 'Plans one piece at two or three densities: time, evenness, risk. Changes nothing.',
    role: 'view',
    body: compareBodySchema,
    answers: {
      200: told(comparisonSchema.def.options[0], 'One row for each density.'),
      422: told(comparisonSchema.def.options[1], 'Nothing can be planned from this; the reasons.'),
    },
    problems: [400, 413, 415, 503],
  },
  {
    method: 'post',
    path: '/api/parts/measure',
    summary:
      'What a piece comes to while it is typed: areas, drawings, sizes, problems. Changes nothing.',
    role: 'view',
    body: typedPieceSchema,
    answers: { 200: told(measuredPieceSchema, 'What it comes to; null stands for what is wrong.') },
    problems: [400, 413, 415, 422],
  },
];
