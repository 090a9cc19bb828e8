/** Pieces and pictures for the library's tests, from a studio that coats seed heads and twigs. */

import { createHash } from 'node:crypto';
import type { PieceDescription } from '../../daemon/piece/model.ts';
import type { LibraryStore, PictureAnswer } from '../../daemon/store/door.ts';

export const savedWallMs = Date.UTC(2026, 0, 12, 9, 30, 0);

export function aPiece(name = 'Poppy seed head', diameterMm = 22): PieceDescription {
  return {
    name,
    parts: [
      { kind: 'ball', label: 'head', count: 1, platedFraction: 1, sizes: { diameterMm } },
      {
        kind: 'hanger',
        label: 'hook',
        count: 1,
        platedFraction: 1,
        sizes: { wireDiameterMm: 0.8, submergedLengthMm: 15 },
      },
    ],
    materials: [{ id: 'seed-pod', note: 'sealed twice' }],
    areaUncertainty: 0.12,
  };
}

/** A leaf whose outlines were traced on these pictures, one part for each. */
export function aTracedPiece(...pictureIds: readonly string[]): PieceDescription {
  const corners = [
    [0, 0],
    [30, 0],
    [30, 18],
    [0, 18],
  ] as const;
  return {
    name: 'Beech leaf brooch',
    parts: pictureIds.map((pictureId, index) => ({
      kind: 'outline',
      label: `leaf ${index + 1}`,
      count: 1,
      platedFraction: 1,
      sizes: { thicknessMm: 0.6, faces: 2 },
      outline: {
        points: corners.map(([xMm, yMm]) => ({ xMm, yMm })),
        pictureId,
        scale: { first: { x: 10, y: 10 }, second: { x: 110, y: 10 }, lengthMm: 10 },
        picturePoints: corners.map(([x, y]) => ({ x: x * 10, y: y * 10 })),
      },
    })),
    areaUncertainty: 0.05,
  };
}

export function idOf(bytes: Uint8Array): string {
  return createHash('sha256').update(bytes).digest('hex');
}

/** Hands a picture over in parts, as control does; the answer to the last one. */
export async function upload(
  library: { addPicturePart: (...given: Parameters<LibraryStore['addPicturePart']>) => unknown },
  bytes: Uint8Array,
  wallMs = savedWallMs,
  partBytes = 96 * 1024,
): Promise<unknown> {
  const count = Math.max(1, Math.ceil(bytes.length / partBytes));
  let answer: unknown;
  for (let index = 0; index < count; index += 1) {
    const part = bytes.subarray(index * partBytes, (index + 1) * partBytes);
    const base64 = Buffer.from(part).toString('base64');
    answer = await library.addPicturePart({ upload: idOf(bytes), index, count, base64 }, wallMs);
  }
  return answer;
}

/** The answer for a picture that is stored. */
export function stored(bytes: Uint8Array, widthPixels: number, heightPixels: number) {
  const picture = { id: idOf(bytes), mime: 'image/png', widthPixels, heightPixels } as const;
  return { kind: 'stored', picture } satisfies PictureAnswer;
}
