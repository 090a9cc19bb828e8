/** Judges a picture by its bytes: a still JPEG, PNG or WebP, whole, and not larger than is kept. */

import { found } from '../answer.ts';
import type { Answer } from '../answer.ts';
import type { Problem } from '../model.ts';
import type { HeaderAnswer, PixelSize } from './header.ts';
import { isJpeg, readJpeg } from './jpeg.ts';
import { isPng, readPng } from './png.ts';
import { isWebp, readWebp } from './webp.ts';

export const pictureMimes = ['image/jpeg', 'image/png', 'image/webp'] as const;
export type PictureMime = (typeof pictureMimes)[number];

export interface PictureFacts extends PixelSize {
  readonly mime: PictureMime;
}

export const pictureLimits = {
  maxBytes: 4_000_000,
  maxPixels: 40_000_000,
  maxSidePixels: 20_000,
  /** Of one piece: different pictures, and their bytes together. */
  maxPerPiece: 8,
  maxBytesPerPiece: 12_000_000,
} as const;

const readers: readonly {
  readonly mime: PictureMime;
  readonly is: (bytes: Uint8Array) => boolean;
  readonly read: (bytes: Uint8Array) => HeaderAnswer;
}[] = [
  { mime: 'image/jpeg', is: isJpeg, read: readJpeg },
  { mime: 'image/png', is: isPng, read: readPng },
  { mime: 'image/webp', is: isWebp, read: readWebp },
];

/** Type and size of a picture, or why it is not kept; `field` names it in the refusal. */
export function readPicture(bytes: Uint8Array, field: string): Answer<PictureFacts> {
  if (bytes.length > pictureLimits.maxBytes) return no(tooManyBytes(bytes.length, field));
  if (bytes.length === 0) return no(fault(field, '0 bytes', 'at least 1 byte', 'is empty'));
  const format = readers.find(({ is }) => is(bytes));
  if (format === undefined) return no(otherKind(bytes, field));
  const size = format.read(bytes);
  if (typeof size === 'string') return no(fault(field, size, 'a whole still picture', size));
  const tooLarge = sizeProblem(size, field);
  return tooLarge === null ? found({ mime: format.mime, ...size }) : no(tooLarge);
}

/** The refusal of more bytes than are kept. */
export function tooManyBytes(length: number, field: string): Problem {
  const value = `${length} bytes`;
  const bound = `at most ${pictureLimits.maxBytes} bytes`;
  return fault(field, value, bound, `has ${value}; it must have ${bound}. Make it smaller`);
}

function sizeProblem({ widthPixels, heightPixels }: PixelSize, field: string): Problem | null {
  const { maxPixels, maxSidePixels } = pictureLimits;
  const value = `${widthPixels} x ${heightPixels} pixels`;
  const state = (bound: string): Problem =>
    fault(field, value, bound, `has ${value}; it must have ${bound}. Make it smaller`);
  if (widthPixels === 0 || heightPixels === 0) {
    return fault(field, value, 'at least 1 x 1 pixels', `has ${value}`);
  }
  if (Math.max(widthPixels, heightPixels) > maxSidePixels) {
    return state(`at most ${maxSidePixels} pixels on a side`);
  }
  return widthPixels * heightPixels > maxPixels ? state(`at most ${maxPixels} pixels`) : null;
}

/** Formats that a maker may try, by how they begin; they are named, so that the way out is clear. */
const otherKinds: readonly (readonly [name: string, start: string, at: number])[] = [
  ['GIF', 'GIF8', 0],
  ['SVG', '<svg', 0],
  ['SVG or XML', '<?xml', 0],
  ['HEIC or AVIF', 'ftyp', 4],
  ['TIFF', 'II*\0', 0],
  ['TIFF', 'MM\0*', 0],
  ['BMP', 'BM', 0],
  ['PDF', '%PDF', 0],
];

function otherKind(bytes: Uint8Array, field: string): Problem {
  const text = String.fromCharCode(...bytes.subarray(0, 16));
  const kind = otherKinds.find(([, start, at]) => text.startsWith(start, at));
  const value = kind?.[0] ?? 'another kind of file';
  const bound = 'JPEG, PNG or WebP';
  return fault(field, value, bound, `is ${value}; it must be ${bound}`);
}

function no(problem: Problem): Answer<never> {
  return { ok: false, problem };
}

function fault(field: string, value: string, bound: string, what: string): Problem {
  return { field, value, bound, message: `The picture ${what}.` };
}
