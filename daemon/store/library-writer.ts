/** Saves pieces: every edit is a version of its own, in one short transaction on the database thread. */

import type Database from 'better-sqlite3';
import type { PieceDescription, Problem } from '../piece/model.ts';
import { pieceGrowth, pieceProblems } from '../piece/piece.ts';
import { maxPieceCharacters, type PieceSummary } from '../wire/library.ts';
import type { PictureAnswer, PicturePart, PieceAnswer } from './door.ts';
import { newestSummary, newestVersion, toSavedPiece } from './library-rows.ts';
import { PicturesWriter } from './pictures-writer.ts';

/** What the proxy can ask of the thread; the same words as the door, without the waiting. */
export interface LibraryOperations {
  addPiece(id: string, piece: PieceDescription, wallMs: number): PieceAnswer;
  editPiece(id: string, version: number, piece: PieceDescription, wallMs: number): PieceAnswer;
  copyPiece(id: string, copyId: string, name: string | null, wallMs: number): PieceAnswer;
  archivePiece(id: string, archivedWallMs: number | null): PieceAnswer;
  addPicturePart(part: PicturePart, wallMs: number): PictureAnswer;
}

const maxNameCharacters = 200;
const copySuffix = ' (copy)';

export class LibraryWriter implements LibraryOperations {
  readonly #db: Database.Database;
  readonly #pictures: PicturesWriter;

  constructor(db: Database.Database) {
    this.#db = db;
    this.#pictures = new PicturesWriter(db);
  }

  addPiece(id: string, piece: PieceDescription, wallMs: number): PieceAnswer {
    return this.#inTransaction(() => {
      const problems = this.#problems(piece);
      if (problems.length > 0) return { kind: 'invalid', problems };
      const { lastInsertRowid } = this.#db
        .prepare('INSERT INTO pieces (id, created_wall_ms) VALUES (?, ?)')
        .run(id, wallMs);
      return this.#saveVersion(id, lastInsertRowid, 1, piece, wallMs);
    });
  }

  editPiece(id: string, version: number, piece: PieceDescription, wallMs: number): PieceAnswer {
    return this.#inTransaction(() => {
      const newest = newestVersion(this.#db, id);
      if (newest === null) return { kind: 'unknown' };
      if (newest.summary.archived) return { kind: 'archived' };
      // What stands there already is not saved twice, whichever version it was made from.
      if (newest.document === JSON.stringify(piece)) {
        return { kind: 'saved', piece: newest.summary };
      }
      if (newest.summary.version !== version) return { kind: 'stale', newest: newest.summary };
      const problems = this.#problems(piece);
      if (problems.length > 0) return { kind: 'invalid', problems };
      return this.#saveVersion(id, newest.pieceNumber, version + 1, piece, wallMs);
    });
  }

  copyPiece(id: string, copyId: string, name: string | null, wallMs: number): PieceAnswer {
    return this.#inTransaction(() => {
      const newest = newestVersion(this.#db, id);
      if (newest === null) return { kind: 'unknown' };
      const { piece } = toSavedPiece(newest.summary, newest.document);
      const room = maxNameCharacters - copySuffix.length;
      return this.addPiece(
        copyId,
        { ...piece, name: name ?? piece.name.slice(0, room) + copySuffix },
        wallMs,
      );
    });
  }

  archivePiece(id: string, archivedWallMs: number | null): PieceAnswer {
    return this.#inTransaction(() => {
      // Archived twice, the first time counts.
      this.#db
        .prepare(
          `UPDATE pieces SET archived_wall_ms = @at
           WHERE id = @id AND (@at IS NULL OR archived_wall_ms IS NULL)`,
        )
        .run({ id, at: archivedWallMs });
      const piece = newestSummary(this.#db, id);
      return piece === null ? { kind: 'unknown' } : { kind: 'saved', piece };
    });
  }

  addPicturePart(part: PicturePart, wallMs: number): PictureAnswer {
    return this.#pictures.addPart(part, wallMs);
  }

  #problems(piece: PieceDescription): readonly Problem[] {
    const problems = [...pieceProblems(piece), ...this.#pictures.problemsOf(piece)];
    const { length } = JSON.stringify(piece);
    if (length <= maxPieceCharacters) return problems;
    const value = `${length} characters as JSON`;
    const bound = `at most ${maxPieceCharacters} characters`;
    const message = `The piece has ${value}; it may have ${bound}. Trace with fewer points.`;
    return [{ field: 'parts', value, bound, message }, ...problems];
  }

  #saveVersion(
    id: string,
    pieceNumber: number | bigint,
    version: number,
    piece: PieceDescription,
    savedWallMs: number,
  ): PieceAnswer {
    const summary: PieceSummary = {
      id,
      version,
      name: piece.name,
      savedWallMs,
      archived: false,
      partCount: piece.parts.length,
      areaMm2: pieceGrowth(piece).areaMm2,
    };
    const { lastInsertRowid } = this.#db
      .prepare(
        `INSERT INTO piece_versions
           (piece, version, saved_wall_ms, name, part_count, area_mm2, document)
         VALUES (@pieceNumber, @version, @savedWallMs, @name, @partCount, @areaMm2, @document)`,
      )
      .run({ ...summary, pieceNumber, document: JSON.stringify(piece) });
    this.#pictures.link(lastInsertRowid, piece);
    return { kind: 'saved', piece: summary };
  }

  /** Immediate, because only then SQLite waits for another program's lock; inside another one it joins. */
  #inTransaction<T>(work: () => T): T {
    return this.#db.inTransaction ? work() : this.#db.transaction(work).immediate();
  }
}
