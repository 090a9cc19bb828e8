/** Materials and what is judged of them, as they cross HTTP and stand in config/materials.toml. */

import * as z from 'zod/mini';
import { _default as withDefault } from 'zod/mini';
import type { MaterialMatch } from '../piece/material-search.ts';
import type { Material } from '../piece/material.ts';
import type { MaterialJudgement, MaterialsJudgement } from '../piece/materials.ts';

const identifier = z
  .string()
  .check(z.regex(/^[a-z0-9-]{1,64}$/, 'up to 64 small letters, digits and hyphens'));
const name = z.string().check(z.minLength(1), z.maxLength(80));
const sentence = z.string().check(z.minLength(1), z.maxLength(600));
const mohs = z.number().check(z.gte(0), z.lte(10));

const verdictSchema = z.enum(['keepOut', 'caution', 'withstands']);
const actionSchema = z.enum([
  'keepOut',
  'undercoat',
  'seal',
  'insulate',
  'mask',
  'dry',
  'cure',
  'keepCool',
  'noSolvents',
  'scrapTest',
]);
const confidenceSchema = z.enum([
  'read',
  'fromMemoryHigh',
  'fromMemoryMedium',
  'fromMemoryLow',
  'commonPractice',
]);
const flag = withDefault(z.boolean(), false);

/** A row of the table; what the file may leave out is filled in. */
export const materialSchema = z.strictObject({
  id: identifier,
  name,
  synonyms: withDefault(z.array(name).check(z.maxLength(40)), []),
  group: z.enum(['stone', 'organic', 'plant', 'glass', 'resin', 'metal', 'paint', 'sealant']),
  mohs: withDefault(z.nullable(z.strictObject({ low: mohs, high: mohs })), null),
  verdict: verdictSchema,
  why: sentence,
  actions: z.array(actionSchema).check(z.minLength(1), z.maxLength(10)),
  advice: sentence,
  source: sentence,
  confidence: confidenceSchema,
  conducts: flag,
  baseMetal: flag,
  porous: flag,
  heatSensitive: flag,
  solventSensitive: flag,
  waterSensitive: flag,
  poisonsWhenTested: flag,
});

/** The whole file. */
export const materialsFileSchema = z.strictObject({
  materials: z.array(materialSchema).check(z.minLength(1), z.maxLength(1000)),
});

export const materialMatchSchema = z.strictObject({
  id: z.string(),
  name: z.string(),
  matched: z.string(),
  distance: z.number(),
});

export const materialJudgementSchema = z.strictObject({
  id: z.string(),
  name: z.string(),
  known: z.boolean(),
  verdict: verdictSchema,
  headline: z.string(),
  why: z.string(),
  actions: z.array(actionSchema),
  advice: z.string(),
  warnings: z.array(z.string()),
  source: z.string(),
  confidence: z.nullable(confidenceSchema),
  suggestions: z.array(materialMatchSchema),
});

export const materialsJudgementSchema = z.strictObject({
  verdict: z.nullable(verdictSchema),
  materials: z.array(materialJudgementSchema),
  notice: z.string(),
});

// The schemas and the pure words must stay the same thing; these lines fail to compile when they drift.
type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type MaterialSchemaChecks = [
  Same<z.infer<typeof materialSchema>, Material>,
  Same<z.infer<typeof materialMatchSchema>, MaterialMatch>,
  Same<z.infer<typeof materialJudgementSchema>, MaterialJudgement>,
  Same<z.infer<typeof materialsJudgementSchema>, MaterialsJudgement>,
];
