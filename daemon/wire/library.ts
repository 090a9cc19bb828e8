/** The library of pieces: what is saved, its pictures, the document it is exported as, and its commands. */

import * as z from 'zod/mini';
import { pictureLimits, pictureMimes } from '../piece/picture/picture.ts';
import type { PictureFacts } from '../piece/picture/picture.ts';
import { pieceSchema } from './piece.ts';

const finite = z.number();
const count = z.int().check(z.gte(1));

export const pieceIdSchema = z.string().check(z.regex(/^[A-Za-z0-9_-]{1,64}$/));
/** SHA-256 of the bytes of a picture, in small hexadecimal digits. */
export const pictureIdSchema = z
  .string()
  .check(z.regex(/^[0-9a-f]{64}$/, '64 hexadecimal digits, the SHA-256 of the bytes'));
export const pieceNameSchema = pieceSchema.shape.name;

/** Longest piece as JSON, characters; a trace of 2,000 clicks takes up to 160,000. */
export const maxPieceCharacters = 200_000;

/** One version of a saved piece; versions count from 1, and what is saved under one never changes. */
export const savedPieceSchema = z.strictObject({
  id: pieceIdSchema,
  version: count,
  /** When this version was saved, wall ms since the epoch. */
  savedWallMs: finite,
  archived: z.boolean(),
  piece: pieceSchema,
});
export type SavedPiece = z.infer<typeof savedPieceSchema>;

/** A line of the library: one version of a piece without its parts. */
export const pieceSummarySchema = z.strictObject({
  id: pieceIdSchema,
  version: count,
  name: z.string(),
  savedWallMs: finite,
  archived: z.boolean(),
  /** Entries of its list of parts; a part with a count is one. */
  partCount: count,
  /** Plated surface, hangers included. */
  areaMm2: finite,
});
export type PieceSummary = z.infer<typeof pieceSummarySchema>;

export const addPieceBodySchema = z.strictObject({ piece: pieceSchema });
/** `version` is the one that was edited; another newest one is 409 with the problem `stale`. */
export const editPieceBodySchema = z.strictObject({ piece: pieceSchema, version: count });
/** Without a name the copy gets the old one with "(copy)". */
export const copyPieceBodySchema = z.strictObject({ name: z.optional(pieceNameSchema) });

/** A stored picture as it is shown, upright. */
export const storedPictureSchema = z.strictObject({
  id: pictureIdSchema,
  mime: z.enum(pictureMimes),
  widthPixels: count,
  heightPixels: count,
});
export type StoredPicture = z.infer<typeof storedPictureSchema>;

/** The name and the version of the documents that are written. */
export const pieceFormat = 'nightbath-piece';
export const pieceFormatVersion = 1;

const longestBase64 = 4 * Math.ceil(pictureLimits.maxBytes / 3);
// No expression over groups of four: it would run for long over megabytes. Readers decode strictly.
const base64 = z.string().check(z.maxLength(longestBase64));

/** A piece with its pictures, to be kept elsewhere or given to another bench. */
export const pieceDocumentSchema = z.strictObject({
  $schema: z.optional(z.string().check(z.maxLength(500))),
  format: z.literal(pieceFormat),
  formatVersion: z.literal(pieceFormatVersion),
  piece: pieceSchema,
  /** The pictures that the outlines of the piece name. */
  pictures: z
    .array(z.strictObject({ id: pictureIdSchema, mime: z.enum(pictureMimes), base64 }))
    .check(z.maxLength(pictureLimits.maxPerPiece)),
});
export type PieceDocument = z.infer<typeof pieceDocumentSchema>;

/** Bytes of a picture that travel to control at a time; larger ones would hold its loop up. */
export const picturePartBytes = 96 * 1024;
const mostPictureParts = Math.ceil(pictureLimits.maxBytes / picturePartBytes);

/** What can be asked of the library; control passes it to the store. */
export const libraryCommandSchemas = [
  /** A new piece, as version 1. */
  z.strictObject({ kind: z.literal('piece-add'), piece: pieceSchema }),
  /** The next version of a piece; refused as stale when `version` is not the newest one. */
  z.strictObject({
    kind: z.literal('piece-edit'),
    pieceId: pieceIdSchema,
    version: count,
    piece: pieceSchema,
  }),
  /** The newest version of a piece as a piece of its own. */
  z.strictObject({
    kind: z.literal('piece-copy'),
    pieceId: pieceIdSchema,
    name: z.nullable(pieceNameSchema),
  }),
  z.strictObject({ kind: z.literal('piece-archive'), pieceId: pieceIdSchema }),
  z.strictObject({ kind: z.literal('piece-restore'), pieceId: pieceIdSchema }),
  /** One part of a picture; the answer to the one that completes it names the picture. */
  z.strictObject({
    kind: z.literal('picture-part'),
    /** Ties the parts of one upload together. */
    upload: z.string().check(z.regex(/^[A-Za-z0-9-]{1,64}$/)),
    index: z.int().check(z.gte(0), z.lt(mostPictureParts)),
    count: count.check(z.lte(mostPictureParts)),
    base64: z
      .string()
      .check(
        z.minLength(1),
        z.maxLength((4 * picturePartBytes) / 3),
        z.regex(/^[A-Za-z0-9+/]+=*$/),
      ),
  }),
] as const;
export type LibraryCommand = z.infer<(typeof libraryCommandSchemas)[number]>;

type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type LibrarySchemaCheck = Same<Omit<StoredPicture, 'id'>, PictureFacts>;
