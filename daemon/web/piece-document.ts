/** The document of a piece as it crosses HTTP: its file name, and its judgement when it comes back. */

import { createHash } from 'node:crypto';
import { setImmediate as nextTurn } from 'node:timers/promises';
import type { Problem } from '../piece/model.ts';
import { namedPictures } from '../piece/picture/named.ts';
import { pictureLimits, readPicture } from '../piece/picture/picture.ts';
import { pieceProblems } from '../piece/piece.ts';
import type { LibraryReader } from '../store/door.ts';
import {
  pieceDocumentSchema,
  pieceFormat,
  pieceFormatVersion,
  type PieceDocument,
  type SavedPiece,
} from '../wire/library.ts';
import { accepted } from './body.ts';
import { ProblemError, shownValue } from './problem.ts';

/** Largest document that is taken in, bytes: all pictures of a piece as base64, and the piece. */
export const documentBytes = Math.ceil((pictureLimits.maxBytesPerPiece * 4) / 3) + 1_000_000;

const maxProblems = 20;

/** A file name that every system takes, and beside it the name as the maker wrote it (RFC 6266). */
export function dispositionOf({ piece, version }: SavedPiece): string {
  const plain = piece.name
    .normalize('NFKD')
    .replaceAll(/[^A-Za-z0-9]+/g, '-')
    .replaceAll(/^-+|-+$/g, '')
    .slice(0, 60)
    .toLowerCase();
  const ending = `v${version}.piece.json`;
  // Half of a pair that stands alone could not be encoded; it counts among what cannot be shown.
  const written = Array.from(piece.name)
    .slice(0, 80)
    .join('')
    .replaceAll(/[\p{C}\p{Zl}\p{Zp}/\\:*?"<>|]/gu, ' ')
    .trim();
  const encoded = encodeURIComponent(`${written} ${ending}`).replaceAll(
    /['()*]/g,
    (letter) => `%${letter.charCodeAt(0).toString(16)}`,
  );
  const name = `${plain === '' ? 'piece' : plain}-${ending}`;
  return `attachment; filename="${name}"; filename*=UTF-8''${encoded}`;
}

export interface ReadDocument {
  readonly piece: PieceDocument['piece'];
  readonly pictures: readonly Uint8Array[];
}

/** Judges a whole document before any of it is stored; throws a problem that names all that is wrong. */
export async function readDocument(input: unknown, library: LibraryReader): Promise<ReadDocument> {
  refuseNewer(input);
  const document = accepted(pieceDocumentSchema.safeParse(input), input);
  const problems: Problem[] = pieceProblems(document.piece).map(underPiece);
  problems.push(...linkProblems(document, library));
  const pictures: Uint8Array[] = [];
  let bytes = 0;
  for (const [index, entry] of document.pictures.entries()) {
    // Megabytes are hashed and looked through; others have their turn between two of them.
    await nextTurn();
    const read = pictureOf(entry, `pictures[${index}]`);
    if ('field' in read) problems.push(read);
    else {
      pictures.push(read.bytes);
      bytes += read.bytes.length;
    }
  }
  const { maxBytesPerPiece } = pictureLimits;
  if (bytes > maxBytesPerPiece) {
    const bound = `at most ${maxBytesPerPiece} bytes together`;
    problems.push(problemOf('pictures', `${bytes} bytes`, bound));
  }
  if (problems.length === 0) return { piece: document.piece, pictures };
  const detail = `${problems[0]?.message ?? ''} Nothing was stored.`;
  throw new ProblemError('invalid', detail, problems.slice(0, maxProblems));
}

/** A problem of a piece by its path in a body that holds the piece. */
export function underPiece(problem: Problem): Problem {
  const { field, message } = problem;
  const named = message.startsWith(field) ? `piece.${message}` : message;
  return { ...problem, field: `piece.${field}`, message: named };
}

function problemOf(field: string, value: string, bound: string): Problem {
  return { field, value, bound, message: `${field} is ${value}; it must be ${bound}.` };
}

function refuseNewer(input: unknown): void {
  if (typeof input !== 'object' || input === null) return;
  if (!('format' in input) || !('formatVersion' in input)) return;
  const { format, formatVersion } = input;
  if (format !== pieceFormat || typeof formatVersion !== 'number') return;
  if (formatVersion <= pieceFormatVersion) return;
  const message =
    `This piece was written by a newer Nightbath: its format version is ${formatVersion}, and ` +
    `this one reads up to ${pieceFormatVersion}. Update Nightbath first. Nothing was stored.`;
  const bound = `at most ${pieceFormatVersion}`;
  const field = 'formatVersion';
  throw new ProblemError('invalid', message, [
    { field, value: `${formatVersion}`, bound, message },
  ]);
}

/** Pictures that the piece names and the document lacks, and the other way round. */
function linkProblems(document: PieceDocument, library: LibraryReader): readonly Problem[] {
  const named = namedPictures(document.piece);
  const given = document.pictures.map(({ id }) => id);
  const missing = [...named].filter(([id]) => !given.includes(id) && library.picture(id) === null);
  return [
    ...missing.map(([id, field]) =>
      problemOf(`piece.${field}`, shownValue(id), 'the id of a picture in this document'),
    ),
    ...given.flatMap((id, index) => {
      const field = `pictures[${index}].id`;
      if (given.indexOf(id) !== index) return [problemOf(field, shownValue(id), 'given once')];
      return named.has(id) ? [] : [problemOf(field, shownValue(id), 'named by an outline')];
    }),
  ];
}

type Entry = PieceDocument['pictures'][number];

function pictureOf(entry: Entry, path: string): { readonly bytes: Uint8Array } | Problem {
  const bytes = Buffer.from(entry.base64, 'base64');
  const padding = /={0,2}$/.exec(entry.base64.slice(-2))?.[0].length ?? 0;
  const whole = entry.base64.length % 4 === 0 && /^[A-Za-z0-9+/]*={0,2}$/.test(entry.base64);
  // The decoder passes over what it does not know, so what it made is counted.
  if (!whole || bytes.length !== (entry.base64.length / 4) * 3 - padding) {
    const value = `${entry.base64.length} characters`;
    return problemOf(`${path}.base64`, value, 'base64 with its padding (RFC 4648)');
  }
  const answer = readPicture(bytes, `${path}.base64`);
  if (!answer.ok) return answer.problem;
  const hash = createHash('sha256').update(bytes).digest('hex');
  if (hash !== entry.id) {
    return problemOf(`${path}.id`, shownValue(entry.id), `the SHA-256 of its bytes, ${hash}`);
  }
  const { mime } = answer.value;
  if (mime !== entry.mime) return problemOf(`${path}.mime`, shownValue(entry.mime), mime);
  return { bytes };
}
