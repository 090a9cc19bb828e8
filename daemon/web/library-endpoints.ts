/** The routes of the library as data: pieces, their versions, their documents, and pictures. */

import * as z from 'zod/mini';
import { pictureMimes } from '../piece/picture/picture.ts';
import {
  addPieceBodySchema,
  copyPieceBodySchema,
  editPieceBodySchema,
  pieceDocumentSchema,
  pieceSummarySchema,
  savedPieceSchema,
  storedPictureSchema,
} from '../wire/library.ts';
import { read, told } from './endpoint.ts';
import type { Endpoint } from './endpoint.ts';
import { emptyBodySchema, pieceQuerySchema, piecesQuerySchema } from './schemas.ts';

const summaries = z.array(pieceSummarySchema);

function change(
  method: 'post' | 'put' | 'delete',
  path: string,
  summary: string,
  body?: z.ZodMiniType,
): Endpoint {
  return {
    method,
    path,
    summary,
    role: 'control',
    ...(body !== undefined && { body }),
    key: 'required',
    answers: { 200: told(pieceSummarySchema, 'The piece as it now stands in the library.') },
    problems: body === undefined ? [400, 409, 503] : [400, 409, 413, 415, 422, 503],
  };
}

export const libraryEndpoints: readonly Endpoint[] = [
  read('/api/pieces', 'Saved pieces, the latest first; archived ones apart.', summaries, {
    query: piecesQuerySchema,
    problems: [422, 503],
  }),
  read('/api/pieces/:id', 'A saved piece, its newest version or another.', savedPieceSchema, {
    query: pieceQuerySchema,
    problems: [422, 503],
  }),
  read('/api/pieces/:id/versions', 'Every version of a piece, the newest first.', summaries, {
    problems: [503],
  }),
  read('/api/pieces/:id/export', 'A piece with its pictures, as a file.', pieceDocumentSchema, {
    query: pieceQuerySchema,
    problems: [422, 503],
  }),
  change('post', '/api/pieces', 'Saves a new piece.', addPieceBodySchema),
  change(
    'put',
    '/api/pieces/:id',
    'Saves the next version; 409 where a newer one than the edited is there.',
    editPieceBodySchema,
  ),
  change('delete', '/api/pieces/:id', 'Archives a piece; its versions stay.'),
  change('post', '/api/pieces/:id/restore', 'Brings an archived piece back.', emptyBodySchema),
  change(
    'post',
    '/api/pieces/:id/duplicate',
    'Saves the newest version as a piece of its own.',
    copyPieceBodySchema,
  ),
  change(
    'post',
    '/api/pieces/import',
    'Saves a piece from an exported document; all of it or nothing.',
    pieceDocumentSchema,
  ),
  {
    method: 'post',
    path: '/api/pictures',
    summary:
      'Stores a picture (JPEG, PNG, WebP) under its hash; kept while a piece or run names it.',
    role: 'control',
    upload: [...pictureMimes, 'application/octet-stream'],
    answers: { 200: told(storedPictureSchema, 'The picture, upright.') },
    problems: [413, 415, 422, 503],
  },
  {
    method: 'get',
    path: '/api/pictures/:id',
    summary: 'A stored picture; it never changes.',
    role: 'view',
    answers: { 200: { description: 'The bytes.', schema: z.string(), mediaType: 'image/*' } },
    problems: [503],
  },
];
