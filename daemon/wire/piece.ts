/** Pieces as they cross HTTP and process borders. */

import * as z from 'zod/mini';
import type { PieceDescription } from '../piece/model.ts';

const finite = z
  .number()
  .check(z.refine((value) => Number.isFinite(value), 'must be a finite number'));
const share = finite.check(z.gte(0), z.lte(1));
const shortText = z.string().check(z.maxLength(200));
const identifier = z.string().check(z.regex(/^[A-Za-z0-9_-]{1,64}$/));

// A careful trace of a leaf takes a few hundred clicks; more than this is a mistake.
const maxOutlinePoints = 2_000;

const picturePointSchema = z.strictObject({ x: finite, y: finite });

export const outlineSchema = z.strictObject({
  points: z
    .array(z.strictObject({ xMm: finite, yMm: finite }))
    .check(z.maxLength(maxOutlinePoints)),
  pictureId: z.optional(identifier),
  scale: z.optional(
    z.strictObject({
      first: picturePointSchema,
      second: picturePointSchema,
      lengthMm: finite.check(z.gt(0)),
    }),
  ),
  picturePoints: z.optional(z.array(picturePointSchema).check(z.maxLength(maxOutlinePoints))),
});

export const meshOriginSchema = z.strictObject({
  fileName: shortText.check(z.minLength(1)),
  sha256: z.string().check(z.regex(/^[0-9a-f]{64}$/)),
  unit: z.enum(['micrometre', 'millimetre', 'centimetre', 'inch', 'foot', 'metre']),
  triangles: z.int().check(z.gte(1)),
});

export const partSchema = z.strictObject({
  kind: identifier,
  label: shortText,
  count: z.int().check(z.gte(1), z.lte(10_000)),
  platedFraction: share.check(z.gt(0)),
  sizes: z.record(identifier, finite),
  coveredMm2: z.optional(finite.check(z.gte(0))),
  outline: z.optional(outlineSchema),
  mesh: z.optional(meshOriginSchema),
});

const materialsSchema = z
  .array(
    z.strictObject({
      id: z
        .string()
        .check(z.regex(/^[a-z0-9-]{1,64}$/, 'up to 64 small letters, digits and hyphens')),
      note: z.optional(shortText),
    }),
  )
  .check(z.maxLength(50));

export const pieceSchema = z.strictObject({
  name: shortText.check(z.minLength(1)),
  parts: z.array(partSchema).check(z.minLength(1), z.maxLength(100)),
  materials: z.optional(materialsSchema),
  areaUncertainty: share,
  areaFactor: z.optional(finite.check(z.gte(0.2), z.lte(5))),
});

// The schema and the pure words must stay the same thing; this line fails to compile when they drift.
type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type PieceSchemaCheck = Same<z.infer<typeof pieceSchema>, PieceDescription>;
