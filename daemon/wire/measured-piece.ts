/** A piece while it is being typed, and what it comes to, as both cross HTTP. */

import * as z from 'zod/mini';
import type { Dimension, Drawing, PartDescription, PieceDescription } from '../piece/model.ts';
import type { MeasuredPiece } from '../run/measured-piece.ts';
import { crossSectionSchema } from './log.ts';
import { namedClosureSchema } from './outlook.ts';
import { partSchema, pieceSchema } from './piece.ts';
import { problemSchema } from './plan.ts';

const finite = z.number();
/** Null stands for an entry that cannot be read. */
const typed = z.nullable(z.number());

/** Judged by the words of the piece itself, which name more than one wrong entry at a time. */
export const typedPieceSchema = z.strictObject({
  ...pieceSchema.shape,
  name: z.string().check(z.maxLength(200)),
  parts: z
    .array(
      z.strictObject({
        ...partSchema.shape,
        count: typed,
        platedFraction: typed,
        sizes: z.record(z.string().check(z.maxLength(64)), typed),
        coveredMm2: z.optional(typed),
      }),
    )
    .check(z.maxLength(1000)),
  areaUncertainty: typed,
  areaFactor: z.optional(typed),
});
export type TypedPiece = z.infer<typeof typedPieceSchema>;

/** NaN where an entry cannot be read, as in a piece that is typed in this process. */
function read(entry: number | null): number {
  return entry ?? Number.NaN;
}

function readPart({ count, platedFraction, sizes, coveredMm2, ...part }: TypedPiece['parts'][0]) {
  const described: PartDescription = {
    ...part,
    count: read(count),
    platedFraction: read(platedFraction),
    sizes: Object.fromEntries(Object.entries(sizes).map(([name, size]) => [name, read(size)])),
    ...(coveredMm2 !== undefined && { coveredMm2: read(coveredMm2) }),
  };
  return described;
}

/** The piece that was typed, with NaN for what cannot be read. */
export function pieceTyped({
  parts,
  areaUncertainty,
  areaFactor,
  ...piece
}: TypedPiece): PieceDescription {
  return {
    ...piece,
    parts: parts.map(readPart),
    areaUncertainty: read(areaUncertainty),
    ...(areaFactor !== undefined && { areaFactor: read(areaFactor) }),
  };
}

const pointSchema = z.strictObject({ xMm: finite, yMm: finite });
const role = z.enum(['metal', 'core', 'hidden', 'measure']);

export const drawingSchema = z.strictObject({
  viewBox: z.strictObject({ xMm: finite, yMm: finite, widthMm: finite, heightMm: finite }),
  strokes: z.array(
    z.discriminatedUnion('shape', [
      z.strictObject({
        shape: z.enum(['polyline', 'polygon']),
        role,
        points: z.array(pointSchema),
        measures: z.optional(z.string()),
      }),
      z.strictObject({ shape: z.literal('circle'), role, centre: pointSchema, radiusMm: finite }),
      z.strictObject({
        shape: z.literal('ellipse'),
        role,
        centre: pointSchema,
        radiusXMm: finite,
        radiusYMm: finite,
      }),
    ]),
  ),
});

const dimensionSchema = z.strictObject({
  name: z.string(),
  label: z.string(),
  valueMm: finite,
  growthPerThickness: z.union([
    z.literal(-2),
    z.literal(-1),
    z.literal(0),
    z.literal(1),
    z.literal(2),
  ]),
  closes: z.boolean(),
});

export const measuredPieceSchema = z.strictObject({
  problems: z.array(problemSchema),
  parts: z.array(
    z.nullable(
      z.strictObject({
        areaMm2: finite,
        drawing: drawingSchema,
        dimensions: z.array(dimensionSchema),
      }),
    ),
  ),
  whole: z.nullable(
    z.strictObject({
      areaMm2: finite,
      lowMm2: finite,
      highMm2: finite,
      uncertainty: finite,
      hanger: finite,
      decidingPart: z.int().check(z.gte(0)),
      section: crossSectionSchema,
      closures: z.array(namedClosureSchema),
    }),
  ),
});

// The schemas and the pure words must stay the same thing; these lines fail to compile when they drift.
type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type MeasuredSchemaChecks = [
  Same<z.infer<typeof measuredPieceSchema>, MeasuredPiece>,
  Same<z.infer<typeof drawingSchema>, Drawing>,
  Same<z.infer<typeof dimensionSchema>, Dimension>,
];
