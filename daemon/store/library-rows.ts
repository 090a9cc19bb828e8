/** Rows of the library as the documents of the wire, and the newest version of a piece. */

import type Database from 'better-sqlite3';
import { savedPieceSchema, type PieceSummary, type SavedPiece } from '../wire/library.ts';
import { describeIssues } from './checks.ts';
import { StoreError } from './errors.ts';

/** A line of the library as it comes out of the tables. */
export interface SummaryColumns {
  readonly id: string;
  readonly version: number;
  readonly name: string;
  readonly savedWallMs: number;
  readonly archived: number;
  readonly partCount: number;
  readonly areaMm2: number;
}

export interface VersionColumns extends SummaryColumns {
  readonly pieceNumber: number;
  readonly document: string;
}

/** Of a version `v` of a piece `p`; named as the wire names them. */
export const pieceSummaryColumns =
  'p.id, v.version, v.name, v.saved_wall_ms AS savedWallMs, p.archived_wall_ms IS NOT NULL AS ' +
  'archived, v.part_count AS partCount, v.area_mm2 AS areaMm2';

/** True for the newest version of each piece. */
export const isNewest =
  'v.version = (SELECT max(version) FROM piece_versions WHERE piece = p.number)';

export function toPieceSummary(row: SummaryColumns): PieceSummary {
  const { id, version, name, savedWallMs, archived, partCount, areaMm2 } = row;
  return { id, version, name, savedWallMs, archived: archived === 1, partCount, areaMm2 };
}

/** Throws a `StoreError` of kind `unreadable` when what is stored is not a piece of this program. */
export function toSavedPiece(summary: PieceSummary, document: string): SavedPiece {
  const { id, version, savedWallMs, archived } = summary;
  const result = savedPieceSchema.safeParse({
    id,
    version,
    savedWallMs,
    archived,
    piece: parsed(id, document),
  });
  if (result.success) return result.data;
  throw unreadable(id, describeIssues(result.error.issues));
}

function parsed(id: string, document: string): unknown {
  try {
    return JSON.parse(document);
  } catch (error) {
    throw unreadable(id, String(error));
  }
}

function unreadable(id: string, why: string): StoreError {
  return new StoreError('unreadable', `The saved piece ${id} cannot be read: ${why}.`);
}

/** A stored version with what only the tables know of it. */
export interface StoredVersion {
  readonly pieceNumber: number;
  readonly summary: PieceSummary;
  readonly document: string;
}

export function newestVersion(db: Database.Database, id: string): StoredVersion | null {
  const row = db
    .prepare<[string], VersionColumns>(
      `SELECT ${pieceSummaryColumns}, p.number AS pieceNumber, v.document
       FROM pieces p JOIN piece_versions v ON v.piece = p.number
       WHERE p.id = ? ORDER BY v.version DESC LIMIT 1`,
    )
    .get(id);
  if (row === undefined) return null;
  const { pieceNumber, document } = row;
  return { pieceNumber, document, summary: toPieceSummary(row) };
}

export function newestSummary(db: Database.Database, id: string): PieceSummary | null {
  return newestVersion(db, id)?.summary ?? null;
}
