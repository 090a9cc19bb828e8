/** Keeps pictures: puts the parts of an upload together, judges the whole, stores it by its hash. */

import type Database from 'better-sqlite3';
import { createHash } from 'node:crypto';
import type { PieceDescription, Problem } from '../piece/model.ts';
import { namedPictures } from '../piece/picture/named.ts';
import { pictureLimits, readPicture, tooManyBytes } from '../piece/picture/picture.ts';
import type { StoredPicture } from '../wire/library.ts';
import type { PictureAnswer, PicturePart } from './door.ts';

/** Uploads under way at once; beyond them the one that was silent longest is given up. */
const mostUploads = 3;
/** A picture that nothing refers to is kept this long: its piece may still be on somebody's page, not saved. */
const unusedKeptMs = 30 * 24 * 60 * 60 * 1000;
/** Pictures removed at a time, so that the transaction stays short. */
const removedAtOnce = 8;

interface Upload {
  readonly parts: (Buffer | undefined)[];
  bytes: number;
}

/** A run keeps the pictures of its piece, whatever becomes of the library. */
export function keepPicturesOfRun(
  db: Database.Database,
  runNumber: number | bigint,
  piece: PieceDescription,
): void {
  const keep = db.prepare(
    'INSERT INTO run_pictures (picture, run) SELECT number, ? FROM pictures WHERE id = ?',
  );
  for (const id of namedPictures(piece).keys()) keep.run(runNumber, id);
}

export class PicturesWriter {
  readonly #db: Database.Database;
  readonly #uploads = new Map<string, Upload>();

  constructor(db: Database.Database) {
    this.#db = db;
  }

  /** Takes a part; the one that completes its picture is answered with it, or with what is wrong. */
  addPart(part: PicturePart, wallMs: number): PictureAnswer {
    const upload = this.#uploadOf(part);
    if (upload.parts.length !== part.count || part.index >= part.count) {
      return this.#giveUp(part, otherCount(part, upload.parts.length));
    }
    const bytes = Buffer.from(part.base64, 'base64');
    upload.bytes += bytes.length - (upload.parts[part.index]?.length ?? 0);
    upload.parts[part.index] = bytes;
    if (upload.bytes > pictureLimits.maxBytes) {
      return this.#giveUp(part, tooManyBytes(upload.bytes, 'picture'));
    }
    const parts = upload.parts.filter((one) => one !== undefined);
    if (parts.length < part.count) return { kind: 'partTaken' };
    this.#uploads.delete(part.upload);
    return this.#store(Buffer.concat(parts), wallMs);
  }

  /** Links a version of a piece to its pictures, or says what is wrong with them. */
  problemsOf(piece: PieceDescription): readonly Problem[] {
    const find = this.#db
      .prepare<[string], number>('SELECT length(bytes) FROM pictures WHERE id = ?')
      .pluck();
    const problems: Problem[] = [];
    let bytes = 0;
    const pictures = namedPictures(piece);
    for (const [id, field] of pictures) {
      const length = find.get(id);
      if (length === undefined) problems.push(notStored(id, field));
      bytes += length ?? 0;
    }
    const { maxPerPiece, maxBytesPerPiece } = pictureLimits;
    if (pictures.size > maxPerPiece) {
      problems.push(tooMany(`${pictures.size} pictures`, `at most ${maxPerPiece} pictures`));
    }
    if (bytes > maxBytesPerPiece) {
      const bound = `at most ${maxBytesPerPiece} bytes of pictures`;
      problems.push(tooMany(`${bytes} bytes of pictures`, bound));
    }
    return problems;
  }

  /** To be called inside the transaction that saves the version. */
  link(versionKey: number | bigint, piece: PieceDescription): void {
    const link = this.#db.prepare(
      'INSERT INTO piece_pictures (picture, piece_version) SELECT number, ? FROM pictures WHERE id = ?',
    );
    for (const id of namedPictures(piece).keys()) link.run(versionKey, id);
  }

  #uploadOf({ upload, count }: PicturePart): Upload {
    const known = this.#uploads.get(upload);
    this.#uploads.delete(upload);
    const taken = known ?? { parts: Array.from({ length: count }, () => undefined), bytes: 0 };
    // Set anew, so that the first in the map is always the one that was silent longest.
    this.#uploads.set(upload, taken);
    const [silent] = this.#uploads.keys();
    if (this.#uploads.size > mostUploads && silent !== undefined) this.#uploads.delete(silent);
    return taken;
  }

  #giveUp({ upload }: PicturePart, problem: Problem): PictureAnswer {
    this.#uploads.delete(upload);
    return { kind: 'invalid', problems: [problem] };
  }

  #store(bytes: Buffer, wallMs: number): PictureAnswer {
    const answer = readPicture(bytes, 'picture');
    if (!answer.ok) return { kind: 'invalid', problems: [answer.problem] };
    const id = createHash('sha256').update(bytes).digest('hex');
    const picture: StoredPicture = { id, ...answer.value };
    this.#db
      .transaction(() => {
        this.#removeUnused(wallMs);
        // The same picture again begins its days anew.
        this.#db
          .prepare(
            `INSERT INTO pictures (id, saved_wall_ms, mime, width_pixels, height_pixels, bytes)
             VALUES (@id, @wallMs, @mime, @widthPixels, @heightPixels, @bytes)
             ON CONFLICT (id) DO UPDATE SET saved_wall_ms = @wallMs`,
          )
          .run({ ...picture, wallMs, bytes });
      })
      .immediate();
    return { kind: 'stored', picture };
  }

  #removeUnused(wallMs: number): void {
    this.#db
      .prepare(
        `DELETE FROM pictures WHERE number IN (
           SELECT number FROM pictures
           WHERE saved_wall_ms < ?
             AND NOT EXISTS (SELECT 1 FROM piece_pictures WHERE picture = pictures.number)
             AND NOT EXISTS (SELECT 1 FROM run_pictures WHERE picture = pictures.number)
           ORDER BY saved_wall_ms LIMIT ${removedAtOnce})`,
      )
      .run(wallMs - unusedKeptMs);
  }
}

function otherCount({ index, count }: PicturePart, known: number): Problem {
  const value = `${index} of ${count}`;
  const bound = `one of the ${known} parts of this upload`;
  return { field: 'part', value, bound, message: `part is ${value}; it must be ${bound}.` };
}

function notStored(id: string, field: string): Problem {
  const bound = 'the id of a stored picture';
  const message = `${field} is ${id}; it must be ${bound}. The photo is not on the bench any more: choose it again.`;
  return { field, value: id, bound, message };
}

function tooMany(value: string, bound: string): Problem {
  const message = `The piece has ${value}; it may have ${bound}.`;
  return { field: 'parts', value, bound, message };
}
