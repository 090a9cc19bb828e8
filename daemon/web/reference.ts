/** What a maker looks up: materials and what the bath does to them, ring sizes and wire gauges. */

import { Hono } from 'hono';
import type { Context } from 'hono';
import { diameterMmFromGauge, gaugeLabel, gaugeScales } from '../piece/gauges.ts';
import type { Material } from '../piece/material.ts';
import { judgeMaterials } from '../piece/materials.ts';
import { materialMatches } from '../piece/material-search.ts';
import type { Problem } from '../piece/model.ts';
import { insideDiameterMmFromSize, ringScales, ringSizeLabel } from '../piece/ring-scales.ts';
import { answerSizeQuestion } from '../piece/size-questions.ts';
import { sizeQuestionSchema } from '../wire/sizes.ts';
import { jsonBody, query } from './body.ts';
import { materialIdsQuerySchema, materialSearchQuerySchema } from './schemas.ts';

export interface ReferenceDeps {
  readonly materials: readonly Material[];
}

export function referenceRoutes({ materials }: ReferenceDeps) {
  const rings = ringTables();
  const gauges = gaugeTables();
  return new Hono()
    .get('/materials', (context) => context.json(materials))
    .get('/materials/search', query(materialSearchQuerySchema), (context) => {
      const { name, limit } = context.req.valid('query');
      return context.json(materialMatches(name, materials, limit));
    })
    .get('/materials/judgement', query(materialIdsQuerySchema), (context) =>
      context.json(judgeMaterials(context.req.valid('query').ids.split(','), materials)),
    )
    .get('/ring-scales', (context) => context.json(rings))
    .get('/wire-gauges', (context) => context.json(gauges))
    .post('/sizes', jsonBody(sizeQuestionSchema, cannotAnswer), (context) => {
      const answer = answerSizeQuestion(context.req.valid('json'));
      return context.json(answer, answer.ok ? 200 : 422);
    });
}

/** One shape for all that stands in the way, be it the schema's or the arithmetic's. */
function cannotAnswer(context: Context, problems: readonly Problem[]): Response {
  return context.json({ ok: false, problem: problems[0] }, 422);
}

function ringTables() {
  return ringScales.map((scale) => {
    const sizes = [];
    for (let size = scale.min; size <= scale.max; size += scale.step) {
      const insideDiameterMm = insideDiameterMmFromSize(scale.id, size);
      sizes.push({ size, label: ringSizeLabel(scale.id, size), insideDiameterMm });
    }
    return { scale, sizes };
  });
}

function gaugeTables() {
  return gaugeScales.map((scale) => {
    const gauges = [];
    for (let gauge = scale.thickest; gauge <= scale.thinnest; gauge += 1) {
      const diameterMm = diameterMmFromGauge(scale.id, gauge);
      gauges.push({ gauge, label: gaugeLabel(scale.id, gauge), diameterMm });
    }
    return { scale, gauges };
  });
}
