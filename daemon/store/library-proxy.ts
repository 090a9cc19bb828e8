/** The library as the control thread sees it: promises in front of the database thread. */

import type { PieceDescription } from '../piece/model.ts';
import { checkedFinite } from './checks.ts';
import type { LibraryStore, PictureAnswer, PicturePart, PieceAnswer } from './door.ts';
import type { OperationCall, OperationName } from './thread-messages.ts';

type Ask = <Answer>(callWith: (id: number) => OperationCall) => Promise<Answer>;

/**
 * A commit of these that fails is told to whoever asked and to nobody else: a picture that finds the
 * disk full must not trip a run whose readings still fit on it.
 */
export const libraryOperations: ReadonlySet<OperationName> = new Set([
  'addPiece',
  'editPiece',
  'copyPiece',
  'archivePiece',
  'addPicturePart',
]);

export class LibraryProxy implements LibraryStore {
  readonly #ask: Ask;

  constructor(ask: Ask) {
    this.#ask = ask;
  }

  async addPiece(pieceId: string, piece: PieceDescription, wallMs: number): Promise<PieceAnswer> {
    checkedFinite('wallMs', wallMs);
    const given: [string, PieceDescription, number] = [pieceId, piece, wallMs];
    return this.#ask((id) => ({ kind: 'call', id, name: 'addPiece', given }));
  }

  async editPiece(
    pieceId: string,
    version: number,
    piece: PieceDescription,
    wallMs: number,
  ): Promise<PieceAnswer> {
    checkedFinite('wallMs', wallMs);
    const given: [string, number, PieceDescription, number] = [pieceId, version, piece, wallMs];
    return this.#ask((id) => ({ kind: 'call', id, name: 'editPiece', given }));
  }

  async copyPiece(
    pieceId: string,
    copyId: string,
    name: string | null,
    wallMs: number,
  ): Promise<PieceAnswer> {
    checkedFinite('wallMs', wallMs);
    const given: [string, string, string | null, number] = [pieceId, copyId, name, wallMs];
    return this.#ask((id) => ({ kind: 'call', id, name: 'copyPiece', given }));
  }

  async archivePiece(pieceId: string, archivedWallMs: number | null): Promise<PieceAnswer> {
    if (archivedWallMs !== null) checkedFinite('archivedWallMs', archivedWallMs);
    const given: [string, number | null] = [pieceId, archivedWallMs];
    return this.#ask((id) => ({ kind: 'call', id, name: 'archivePiece', given }));
  }

  async addPicturePart(part: PicturePart, wallMs: number): Promise<PictureAnswer> {
    checkedFinite('wallMs', wallMs);
    const given: [PicturePart, number] = [part, wallMs];
    return this.#ask((id) => ({ kind: 'call', id, name: 'addPicturePart', given }));
  }
}
