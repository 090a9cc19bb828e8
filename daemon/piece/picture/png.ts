/** Reads the size of a PNG picture (W3C Portable Network Graphics) and sees that it is whole. */

import { animated, cutOff, damaged, letters, standsAt, viewOf } from './header.ts';
import type { HeaderAnswer } from './header.ts';

const signature = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a];
/** Length, name and checksum of a chunk. */
const chunkFrame = 12;
const headerBytes = 13;

/** Bits of a sample that each type of colour allows. */
const depthsByColour: Readonly<Record<number, readonly number[]>> = {
  0: [1, 2, 4, 8, 16],
  2: [8, 16],
  3: [1, 2, 4, 8],
  4: [8, 16],
  6: [8, 16],
};

export function isPng(bytes: Uint8Array): boolean {
  return standsAt(bytes, 0, signature);
}

/** The size from the first chunk; every chunk up to the last has to lie inside the file. */
export function readPng(bytes: Uint8Array): HeaderAnswer {
  const view = viewOf(bytes);
  const first = signature.length;
  if (bytes.length < first + chunkFrame + headerBytes) return cutOff;
  if (!standsAt(bytes, first + 4, letters('IHDR')) || view.getUint32(first) !== headerBytes) {
    return damaged;
  }
  const header = bytes.subarray(first + 4, first + 8 + headerBytes);
  if (crc32(header) !== view.getUint32(first + 8 + headerBytes)) return damaged;
  const depths = depthsByColour[bytes[first + 17] ?? -1] ?? [];
  if (!depths.includes(bytes[first + 16] ?? 0)) return damaged;
  const fault = chunkFault(bytes, view, first + chunkFrame + headerBytes);
  if (fault !== null) return fault;
  return { widthPixels: view.getUint32(first + 8), heightPixels: view.getUint32(first + 12) };
}

function chunkFault(bytes: Uint8Array, view: DataView, start: number): string | null {
  let at = start;
  let hasPixels = false;
  for (;;) {
    if (at + chunkFrame > bytes.length) return cutOff;
    const next = at + chunkFrame + view.getUint32(at);
    if (next > bytes.length) return cutOff;
    const is = (name: string): boolean => standsAt(bytes, at + 4, letters(name));
    if (is('IHDR')) return 'states two sizes';
    if (is('acTL')) return animated;
    if (is('IDAT')) hasPixels = true;
    if (is('IEND')) return hasPixels ? null : 'holds no pixels';
    at = next;
  }
}

function crc32(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1) crc = (crc >>> 1) ^ ((crc & 1) * 0xedb88320);
  }
  return (crc ^ 0xffffffff) >>> 0;
}
