/** Makes a photo small in the browser and hands it to the bench, which keeps it with the piece. */

import type { StoredPicture } from '../../daemon/wire/library.ts';
import { ApiError } from '../api.ts';
import { upload } from './upload.ts';
import { photoWords } from '#words/photo';

/** Longest side that a photo keeps, pixels: a ruler's lines stay a few pixels apart. */
export const longestSide = 2000;
const quality = 0.85;

/** Told like a refusal of the daemon. */
const notPicture = (): ApiError => new ApiError(photoWords.notPicture, 0);

export interface Photo {
  readonly blob: Blob;
  readonly width: number;
  readonly height: number;
}

/**
 * The picture upright, at most 2,000 pixels a side, as JPEG without the place and time that a camera
 * writes into it. Rejects with a sentence for what the browser cannot show.
 */
export async function photoFrom(file: Blob): Promise<Photo> {
  let bitmap: ImageBitmap;
  try {
    bitmap = await createImageBitmap(file, { imageOrientation: 'from-image' });
  } catch {
    throw notPicture();
  }
  const shrink = Math.min(1, longestSide / Math.max(bitmap.width, bitmap.height));
  const canvas = document.createElement('canvas');
  canvas.width = Math.max(1, Math.round(bitmap.width * shrink));
  canvas.height = Math.max(1, Math.round(bitmap.height * shrink));
  const context = canvas.getContext('2d');
  if (!context) throw notPicture();
  context.imageSmoothingQuality = 'high';
  context.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  bitmap.close();
  const { width, height } = canvas;
  return new Promise((resolve, reject) => {
    canvas.toBlob(
      (blob) => (blob ? resolve({ blob, width, height }) : reject(notPicture())),
      'image/jpeg',
      quality,
    );
  });
}

/** Where a stored picture is shown from. */
export const pictureAddress = (id: string): string => `/api/pictures/${encodeURIComponent(id)}`;

export function keepPhoto({ blob }: Photo): Promise<StoredPicture> {
  return upload<StoredPicture>('/api/pictures', blob).answer;
}
