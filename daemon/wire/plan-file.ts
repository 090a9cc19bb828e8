/** A piece file: a piece, alone or with whatever of its plan is settled, for the command line. */

import * as z from 'zod/mini';
import { pieceFormat, pieceFormatVersion } from './library.ts';
import { pieceSchema } from './piece.ts';
import { planQuestionSchema } from './plan.ts';

const question = planQuestionSchema.shape;

/** What a piece file may hold beside its piece; the command line gives or replaces the rest. */
export const planFileSchema = z.strictObject({
  $schema: z.optional(z.string()),
  /** A piece exported from the library says so, and brings pictures that planning has no use for. */
  format: z.optional(z.literal(pieceFormat)),
  formatVersion: z.optional(z.literal(pieceFormatVersion)),
  pictures: z.optional(z.array(z.unknown())),
  piece: pieceSchema,
  tankId: z.optional(question.tankId),
  bathId: z.optional(question.bathId),
  paint: z.optional(question.paint),
  densityAmpsPerDm2: question.densityAmpsPerDm2,
  densityTyped: question.densityTyped,
  target: z.optional(question.target),
  trickle: z.optional(question.trickle),
  start: question.start,
  contact: question.contact,
  acceptClosures: question.acceptClosures,
  acceptMaterials: question.acceptMaterials,
});
export type PlanFile = z.infer<typeof planFileSchema>;
