/** The library of pieces by HTTP: read from the store, changed through control, exported and imported. */

import { Hono } from 'hono';
import type { Context } from 'hono';
import type { PieceDescription } from '../piece/model.ts';
import { pieceProblems } from '../piece/piece.ts';
import { pieceDocument } from '../store/door.ts';
import type { StoreReader } from '../store/door.ts';
import {
  addPieceBodySchema,
  copyPieceBodySchema,
  editPieceBodySchema,
  maxPieceCharacters,
  pieceIdSchema,
  type LibraryCommand,
  type PieceSummary,
  type SavedPiece,
} from '../wire/library.ts';
import { bodyBytes, jsonBody, parseJson, pathParam, pieceBodyBytes, query } from './body.ts';
import { obey, requiredKey } from './commands.ts';
import type { CommandDeps } from './commands.ts';
import { ExportDesk } from './export-desk.ts';
import { dispositionOf, documentBytes, readDocument, underPiece } from './piece-document.ts';
import type { PictureSender } from './pictures.ts';
import { ProblemError } from './problem.ts';
import { emptyBodySchema, pieceQuerySchema, piecesQuerySchema } from './schemas.ts';

export interface PieceDeps extends CommandDeps {
  readonly reader: StoreReader;
  readonly sender: PictureSender;
  readonly exportStallMs?: number;
}

export function pieceRoutes(deps: PieceDeps) {
  return new Hono().route('/', readRoutes(deps)).route('/', changeRoutes(deps));
}

function readRoutes({ reader: { library }, exportStallMs }: PieceDeps) {
  const desk = new ExportDesk(exportStallMs);
  const found = (context: Context, version: number | undefined): SavedPiece => {
    const saved = library.piece(pieceIdOf(context), version);
    if (saved !== null) return saved;
    throw noPiece(version);
  };
  return new Hono()
    .get('/pieces', query(piecesQuerySchema), (context) => {
      const { archived, before, limit } = context.req.valid('query');
      const page = before === undefined ? {} : { beforeWallMs: before };
      return context.json(library.pieces({ archived: archived === 'true', limit, ...page }));
    })
    .get('/pieces/:id', query(pieceQuerySchema), (context) =>
      context.json(found(context, context.req.valid('query').version)),
    )
    .get('/pieces/:id/versions', (context) => {
      const versions = library.pieceVersions(pieceIdOf(context));
      if (versions.length === 0) throw noPiece();
      return context.json(versions);
    })
    .get('/pieces/:id/export', query(pieceQuerySchema), (context) => {
      const saved = found(context, context.req.valid('query').version);
      const headers = {
        'content-type': 'application/json',
        'content-disposition': dispositionOf(saved),
      };
      // A HEAD request learns the headers and leaves the desk alone: nobody would read its stream.
      if (context.req.method === 'HEAD') return context.body(null, 200, headers);
      return context.body(desk.stream(pieceDocument(library, saved)), 200, headers);
    });
}

function changeRoutes(deps: PieceDeps) {
  const change = async (context: Context, command: LibraryCommand): Promise<Response> =>
    context.json(await changed(deps, command, requiredKey(context)));
  return new Hono()
    .post('/pieces', jsonBody(addPieceBodySchema, undefined, pieceBodyBytes), (context) => {
      const piece = sound(context.req.valid('json').piece);
      return change(context, { kind: 'piece-add', piece });
    })
    .put('/pieces/:id', jsonBody(editPieceBodySchema, undefined, pieceBodyBytes), (context) => {
      const { version, ...body } = context.req.valid('json');
      const piece = sound(body.piece);
      return change(context, { kind: 'piece-edit', pieceId: pieceIdOf(context), version, piece });
    })
    .delete('/pieces/:id', (context) =>
      change(context, { kind: 'piece-archive', pieceId: pieceIdOf(context) }),
    )
    .post('/pieces/:id/restore', jsonBody(emptyBodySchema), (context) =>
      change(context, { kind: 'piece-restore', pieceId: pieceIdOf(context) }),
    )
    .post('/pieces/:id/duplicate', jsonBody(copyPieceBodySchema), (context) => {
      const { name = null } = context.req.valid('json');
      return change(context, { kind: 'piece-copy', pieceId: pieceIdOf(context), name });
    })
    .post('/pieces/import', async (context) => {
      const key = requiredKey(context);
      const input = parseJson(await bodyBytes(context, documentBytes));
      const { piece, pictures } = await readDocument(input, deps.reader.library);
      refuseTooLong(piece);
      for (const bytes of pictures) await deps.sender.send(bytes);
      return context.json(await changed(deps, { kind: 'piece-add', piece }, key));
    });
}

/** The piece as it now stands in the library; what control finds wrong is named by its path in the body. */
async function changed(
  deps: CommandDeps,
  command: LibraryCommand,
  key: string,
): Promise<PieceSummary> {
  try {
    const { piece } = await obey(deps, command, key);
    if (piece !== undefined) return piece;
  } catch (error) {
    if (!(error instanceof ProblemError) || error.code !== 'invalid') throw error;
    const problems = error.problems.map(underPiece);
    throw new ProblemError('invalid', problems[0]?.message ?? error.message, problems);
  }
  throw new ProblemError('internal', 'Control did not say what became of the piece.');
}

/** The same piece; throws a problem that names all that is wrong with it. */
function sound<Piece extends PieceDescription>(piece: Piece): Piece {
  const problems = pieceProblems(piece).map(underPiece);
  const [first] = problems;
  if (first !== undefined) throw new ProblemError('invalid', first.message, problems);
  refuseTooLong(piece);
  return piece;
}

/** Control takes requests of a bounded length; numbers may be longer as we write them than as they came. */
function refuseTooLong(piece: PieceDescription): void {
  const { length } = JSON.stringify(piece);
  if (length <= maxPieceCharacters) return;
  const value = `${length} characters as JSON`;
  const bound = `at most ${maxPieceCharacters} characters`;
  const message = `piece has ${value}; it may have ${bound}. Trace with fewer points.`;
  throw new ProblemError('tooLarge', message, [{ field: 'piece', value, bound, message }]);
}

function pieceIdOf(context: Context): string {
  return pathParam(pieceIdSchema, context.req.param('id') ?? '', 'piece');
}

function noPiece(version?: number): ProblemError {
  return version === undefined
    ? new ProblemError('notFound', 'There is no piece of that name.')
    : new ProblemError('notFound', `There is no version ${version} of a piece of that name.`);
}
