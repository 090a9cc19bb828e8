/** Reads the size of a WebP picture (RFC 9649) and sees that it is whole. */

import { animated, cutOff, damaged, letters, standsAt, viewOf } from './header.ts';
import type { HeaderAnswer, PixelSize } from './header.ts';

const chunkFrame = 8;
const firstChunk = 12;
const animationFlag = 0x02;

export function isWebp(bytes: Uint8Array): boolean {
  return standsAt(bytes, 0, letters('RIFF')) && standsAt(bytes, 8, letters('WEBP'));
}

/** The size of the pixels; where the file states one for its canvas too, both have to agree. */
export function readWebp(bytes: Uint8Array): HeaderAnswer {
  const view = viewOf(bytes);
  const end = chunkFrame + view.getUint32(4, true);
  if (end > bytes.length) return cutOff;
  let canvas: PixelSize | null = null;
  let at = firstChunk;
  while (at + chunkFrame <= end) {
    const length = view.getUint32(at + 4, true);
    const start = at + chunkFrame;
    if (start + length > end) return cutOff;
    const chunk = bytes.subarray(start, start + length);
    if (standsAt(bytes, at, letters('VP8X'))) {
      if (at !== firstChunk || length < 10) return damaged;
      if (((chunk[0] ?? 0) & animationFlag) !== 0) return animated;
      canvas = { widthPixels: 1 + whole24(chunk, 4), heightPixels: 1 + whole24(chunk, 7) };
    }
    if (standsAt(bytes, at, letters('VP8 '))) return agreeing(lossySize(chunk), canvas);
    if (standsAt(bytes, at, letters('VP8L'))) return agreeing(losslessSize(chunk), canvas);
    at = start + length + (length % 2);
  }
  return at === firstChunk ? cutOff : 'holds no pixels';
}

function agreeing(size: HeaderAnswer, canvas: PixelSize | null): HeaderAnswer {
  if (typeof size === 'string' || canvas === null) return size;
  const { widthPixels, heightPixels } = canvas;
  const same = size.widthPixels === widthPixels && size.heightPixels === heightPixels;
  return same ? size : 'states two sizes';
}

function whole24(bytes: Uint8Array, at: number): number {
  return (bytes[at] ?? 0) | ((bytes[at + 1] ?? 0) << 8) | ((bytes[at + 2] ?? 0) << 16);
}

/** A key frame of VP8 (RFC 6386, section 9.1). */
function lossySize(chunk: Uint8Array): HeaderAnswer {
  if (chunk.length < 10) return cutOff;
  const isKeyFrame = ((chunk[0] ?? 1) & 1) === 0;
  if (!isKeyFrame || !standsAt(chunk, 3, [0x9d, 0x01, 0x2a])) return damaged;
  const view = viewOf(chunk);
  return {
    widthPixels: view.getUint16(6, true) & 0x3fff,
    heightPixels: view.getUint16(8, true) & 0x3fff,
  };
}

function losslessSize(chunk: Uint8Array): HeaderAnswer {
  if (chunk.length < 5) return cutOff;
  const bits = viewOf(chunk).getUint32(1, true);
  if (chunk[0] !== 0x2f || bits >>> 29 !== 0) return damaged;
  return { widthPixels: 1 + (bits & 0x3fff), heightPixels: 1 + ((bits >>> 14) & 0x3fff) };
}
