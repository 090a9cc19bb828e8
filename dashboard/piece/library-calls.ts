/** Calls of the library of pieces: each change carries a key, so that a repeat of it is harmless. */

import type * as z from '../../daemon/wire/library.ts';
import type { PieceDescription, Problem } from '../../daemon/piece/model.ts';
import { access } from '../access.ts';
import { ApiError, randomKey, read, readList } from '../api.ts';
import { words } from '#words/common';

const timeoutMs = 30_000;

const pathOf = (id: string, below = ''): string =>
  `/api/pieces/${encodeURIComponent(id)}${below === '' ? '' : `/${below}`}`;

/** Where a version is downloaded from, with its pictures. */
export const exportAddress = (id: string, version: number): string =>
  `${pathOf(id, 'export')}?version=${version}`;

/** Rejects with an ApiError whose message is the sentence to show. */
async function change(
  method: 'POST' | 'PUT' | 'DELETE',
  path: string,
  body?: string,
): Promise<z.PieceSummary> {
  let response: Response;
  let answer: unknown;
  try {
    response = await fetch(path, {
      method,
      headers: {
        'content-type': 'application/json',
        'x-nightbath': '1',
        'idempotency-key': randomKey(),
      },
      ...(body !== undefined && { body }),
      signal: AbortSignal.timeout(timeoutMs),
    });
    answer = await response.json();
  } catch {
    throw new ApiError(words.daemon.silent, 0);
  }
  if (response.status === 401) void access.ask();
  if (response.ok) return answer as z.PieceSummary;
  const { detail, problems } = answer as { detail?: string; problems?: readonly Problem[] };
  const sentence = detail ?? words.daemon.answered(response.status);
  throw new ApiError(sentence, response.status, problems ?? []);
}

export const listPieces = (archived: boolean): Promise<z.PieceSummary[]> =>
  readList<z.PieceSummary>(`/api/pieces?archived=${archived}`);

export const listVersions = (id: string): Promise<z.PieceSummary[]> =>
  readList<z.PieceSummary>(pathOf(id, 'versions'));

/** The newest version, or the one that is named. */
export const openPiece = (id: string, version?: number): Promise<z.SavedPiece> =>
  read<z.SavedPiece>(`${pathOf(id)}${version === undefined ? '' : `?version=${version}`}`);

export const addPiece = (piece: PieceDescription): Promise<z.PieceSummary> =>
  change('POST', '/api/pieces', JSON.stringify({ piece }));

/** `version` is the one that was edited; it is refused where that is not the newest. */
export const savePiece = (
  id: string,
  version: number,
  piece: PieceDescription,
): Promise<z.PieceSummary> => change('PUT', pathOf(id), JSON.stringify({ piece, version }));

export const duplicatePiece = (id: string): Promise<z.PieceSummary> =>
  change('POST', pathOf(id, 'duplicate'), '{}');

export const archivePiece = (id: string): Promise<z.PieceSummary> => change('DELETE', pathOf(id));

export const restorePiece = (id: string): Promise<z.PieceSummary> =>
  change('POST', pathOf(id, 'restore'), '{}');

/** An exported document as text; what is wrong with it comes back as an ApiError. */
export const importPiece = (document: string): Promise<z.PieceSummary> =>
  change('POST', '/api/pieces/import', document);
