/** Reads the library: lines of pieces, one version as it was saved, and pictures. */

import { storedPictureSchema, type PieceSummary, type SavedPiece } from '../wire/library.ts';
import { checkedFinite, checkedWhole, describeIssues } from './checks.ts';
import type { LibraryReader, PieceFilter, PictureFile } from './door.ts';
import { StoreError } from './errors.ts';
import {
  isNewest,
  pieceSummaryColumns,
  toPieceSummary,
  toSavedPiece,
  type SummaryColumns,
  type VersionColumns,
} from './library-rows.ts';
import type { Read } from './read.ts';

const maxPieces = 1000;

interface PictureColumns {
  readonly id: string;
  readonly mime: string;
  readonly widthPixels: number;
  readonly heightPixels: number;
  readonly bytes: Buffer;
}

export class FileLibrary implements LibraryReader {
  readonly #read: Read;

  constructor(read: Read) {
    this.#read = read;
  }

  pieces(filter: PieceFilter): readonly PieceSummary[] {
    const limit = checkedWhole('limit', filter.limit, 1, maxPieces);
    const before = filter.beforeWallMs;
    if (before !== undefined) checkedFinite('beforeWallMs', before);
    return this.#read([], (db) =>
      db
        .prepare<[object], SummaryColumns>(
          `SELECT ${pieceSummaryColumns}
           FROM pieces p JOIN piece_versions v ON v.piece = p.number AND ${isNewest}
           WHERE (p.archived_wall_ms IS NOT NULL) = @archived
             AND (@before IS NULL OR v.saved_wall_ms < @before)
           ORDER BY v.saved_wall_ms DESC, v.key DESC LIMIT @limit`,
        )
        .all({ archived: filter.archived ? 1 : 0, before: before ?? null, limit })
        .map(toPieceSummary),
    );
  }

  piece(id: string, version?: number): SavedPiece | null {
    return this.#read(null, (db) => {
      const row = db
        .prepare<[object], VersionColumns>(
          `SELECT ${pieceSummaryColumns}, v.document
           FROM pieces p JOIN piece_versions v ON v.piece = p.number
           WHERE p.id = @id AND (@version IS NULL OR v.version = @version)
           ORDER BY v.version DESC LIMIT 1`,
        )
        .get({ id, version: version ?? null });
      return row === undefined ? null : toSavedPiece(toPieceSummary(row), row.document);
    });
  }

  pieceVersions(id: string): readonly PieceSummary[] {
    return this.#read([], (db) =>
      db
        .prepare<[string], SummaryColumns>(
          `SELECT ${pieceSummaryColumns}
           FROM pieces p JOIN piece_versions v ON v.piece = p.number
           WHERE p.id = ? ORDER BY v.version DESC LIMIT ${maxPieces}`,
        )
        .all(id)
        .map(toPieceSummary),
    );
  }

  picture(id: string): PictureFile | null {
    return this.#read(null, (db) => {
      const row = db
        .prepare<[string], PictureColumns>(
          `SELECT id, mime, width_pixels AS widthPixels, height_pixels AS heightPixels, bytes
           FROM pictures WHERE id = ?`,
        )
        .get(id);
      if (row === undefined) return null;
      const { bytes, ...rest } = row;
      const facts = storedPictureSchema.safeParse(rest);
      if (facts.success) return { facts: facts.data, bytes };
      const why = describeIssues(facts.error.issues);
      throw new StoreError('unreadable', `The stored picture ${id} cannot be read: ${why}.`);
    });
  }
}
