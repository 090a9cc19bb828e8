/** What is told of an uploaded mesh: its measure, the units it may be in, and a light drawing. */

import * as z from 'zod/mini';
import type { MeshMeasure } from '../piece/mesh/measure.ts';
import type { MeshFormat } from '../piece/mesh/model.ts';
import type { MeshPreview } from '../piece/mesh/preview.ts';
import type { UnitCandidate } from '../piece/mesh/units.ts';
import { meshOriginSchema } from './piece.ts';

const finite = z.number();
const count = z.int().check(z.gte(0));
const range = z.strictObject({ value: finite, low: finite, high: finite });
const point = z.tuple([finite, finite, finite]);
const unit = meshOriginSchema.shape.unit;

export const meshFormatSchema = z.enum(['stl-binary', 'stl-ascii', 'obj', '3mf']);

/** Lengths, areas and volumes in units of the file. */
export const meshMeasureSchema = z.strictObject({
  triangles: count,
  vertices: count,
  degenerateTriangles: count,
  area: finite,
  enclosedArea: finite,
  volume: z.nullable(finite),
  meanCurvature: range,
  gaussThird: range,
  closed: z.boolean(),
  openEdges: count,
  nonManifoldEdges: count,
  insideOut: z.boolean(),
  turnedTriangles: count,
  windingConflicts: count,
  shells: count,
  enclosedShells: count,
  eulerCharacteristic: z.int(),
  box: z.strictObject({ min: point, max: point }),
  concaveEdges: count,
  concaveLimit: z.nullable(finite),
  notes: z.array(z.string()),
});

export const unitCandidateSchema = z.strictObject({
  unit,
  lengthMm: finite,
  widthMm: finite,
  heightMm: finite,
  areaMm2: finite,
  plausible: z.boolean(),
});

const axis = z.enum(['x', 'y', 'z']);

/** x1, y1, x2, y2 for each line, in units of the file from the lower left corner, y up. */
export const meshPreviewSchema = z.strictObject({
  axes: z.tuple([axis, axis]),
  width: finite,
  height: finite,
  segments: z.array(finite).check(z.maxLength(8000)),
});

/** The answer to an uploaded mesh. */
export const meshAnswerSchema = z.strictObject({
  fileName: z.string(),
  /** 64 hexadecimal digits of the file. */
  sha256: z.string(),
  sizeBytes: count,
  format: meshFormatSchema,
  /** As the file states it; null where its format has none: then the maker has to be asked. */
  unit: z.nullable(unit),
  /** The stated unit alone, or every unit that may be meant, with the sizes in each. */
  candidates: z.array(unitCandidateSchema),
  measure: meshMeasureSchema,
  preview: meshPreviewSchema,
});
export type MeshAnswer = z.infer<typeof meshAnswerSchema>;

// The schemas and the pure words must stay the same thing; these lines fail to compile when they drift.
type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type SchemaChecks = [
  Same<z.infer<typeof meshMeasureSchema>, MeshMeasure>,
  Same<MeshMeasure['volume'], z.infer<typeof meshMeasureSchema>['volume']>,
  Same<z.infer<typeof unitCandidateSchema>, UnitCandidate>,
  Same<z.infer<typeof meshPreviewSchema>, MeshPreview>,
  Same<z.infer<typeof meshFormatSchema>, MeshFormat>,
  Same<MeshFormat, z.infer<typeof meshFormatSchema>>,
];
