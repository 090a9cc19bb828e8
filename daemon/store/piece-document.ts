/** A saved piece as the document it is exported as, with its pictures, in slices. */

import { namedPictures } from '../piece/picture/named.ts';
import { pieceFormat, pieceFormatVersion, type SavedPiece } from '../wire/library.ts';
import type { LibraryReader, PictureFile } from './door.ts';
import { StoreError } from './errors.ts';

/** Bytes of a picture that are written at a time; base64 of whole groups of three can be joined. */
const sliceBytes = 48 * 1024;

/** Throws a `StoreError` for a picture that is gone. */
export function* pieceDocument(library: LibraryReader, { piece }: SavedPiece): Generator<string> {
  const head = { format: pieceFormat, formatVersion: pieceFormatVersion, piece };
  yield `${JSON.stringify(head).slice(0, -1)},"pictures":[`;
  let first = true;
  for (const id of namedPictures(piece).keys()) {
    const { facts, bytes } = foundPicture(library, id);
    yield `${first ? '' : ','}{"id":"${id}","mime":"${facts.mime}","base64":"`;
    for (let at = 0; at < bytes.length; at += sliceBytes) {
      yield Buffer.from(bytes.subarray(at, at + sliceBytes)).toString('base64');
    }
    yield '"}';
    first = false;
  }
  yield ']}\n';
}

function foundPicture(library: LibraryReader, id: string): PictureFile {
  const picture = library.picture(id);
  if (picture !== null) return picture;
  throw new StoreError('unreadable', `The picture ${id} of this piece is not in the database.`);
}
