/** Reads the size of a JPEG picture (ITU-T T.81), turned as its Exif data asks, and sees that it is whole. */

import { cutOff, damaged, letters, standsAt, viewOf } from './header.ts';
import type { HeaderAnswer, PixelSize } from './header.ts';

const imageStart = 0xd8;
const imageEnd = 0xd9;
const scanStart = 0xda;
const exifSegment = 0xe1;
/** Baseline, extended and progressive: the frames that browsers show. */
const shownFrames = [0xc0, 0xc1, 0xc2];
/** Markers between C0 and CF that are no frames: tables, and one that is reserved. */
const notFrames = [0xc4, 0xc8, 0xcc];
const orientationTag = 0x0112;

export function isJpeg(bytes: Uint8Array): boolean {
  return standsAt(bytes, 0, [0xff, imageStart, 0xff]);
}

/** Walks from marker to marker up to the end of the picture; what a camera adds behind it is let be. */
export function readJpeg(bytes: Uint8Array): HeaderAnswer {
  const view = viewOf(bytes);
  let size: PixelSize | null = null;
  let turned = false;
  let scanned = false;
  let at = 2;
  for (;;) {
    if (at >= bytes.length) return cutOff;
    if (bytes[at] !== 0xff) return damaged;
    while (bytes[at] === 0xff) at += 1;
    const marker = bytes[at];
    at += 1;
    if (marker === undefined) return cutOff;
    if (marker === imageEnd) return ended(size, scanned, turned);
    if (marker === 0 || marker === imageStart) return damaged;
    if (standsAlone(marker)) continue;
    if (at + 2 > bytes.length) return cutOff;
    const length = view.getUint16(at);
    if (length < 2) return damaged;
    if (at + length > bytes.length) return cutOff;
    if (isFrame(marker)) {
      if (size !== null) return 'states two sizes';
      const frame = frameOf(view, marker, at, length);
      if (typeof frame === 'string') return frame;
      size = frame;
    }
    if (marker === exifSegment) turned ||= asksForQuarterTurn(bytes.subarray(at + 2, at + length));
    at += length;
    if (marker !== scanStart) continue;
    if (size === null) return damaged;
    scanned = true;
    at = endOfScan(bytes, at);
  }
}

function standsAlone(marker: number): boolean {
  return marker === 0x01 || (marker >= 0xd0 && marker <= 0xd7);
}

function isFrame(marker: number): boolean {
  return marker >= 0xc0 && marker <= 0xcf && !notFrames.includes(marker);
}

function frameOf(view: DataView, marker: number, at: number, length: number): HeaderAnswer {
  if (!shownFrames.includes(marker)) return 'is packed in a way that browsers do not show';
  if (length < 8) return damaged;
  const bits = view.getUint8(at + 2);
  const components = view.getUint8(at + 7);
  if (bits !== 8) return 'is packed in a way that browsers do not show';
  if (![1, 3, 4].includes(components) || length !== 8 + 3 * components) return damaged;
  return { widthPixels: view.getUint16(at + 5), heightPixels: view.getUint16(at + 3) };
}

function ended(size: PixelSize | null, scanned: boolean, turned: boolean): HeaderAnswer {
  if (size === null || !scanned) return 'holds no pixels';
  if (!turned) return size;
  return { widthPixels: size.heightPixels, heightPixels: size.widthPixels };
}

/** The place of the next marker that is not part of the packed pixels. */
function endOfScan(bytes: Uint8Array, start: number): number {
  let at = start;
  for (;;) {
    const found = bytes.indexOf(0xff, at);
    if (found < 0) return bytes.length;
    const next = bytes[found + 1] ?? 0;
    const isPixels = next === 0 || (next >= 0xd0 && next <= 0xd7);
    if (!isPixels && next !== 0xff) return found;
    at = found + (isPixels ? 2 : 1);
  }
}

/** True for Exif orientations 5 to 8, which lay the picture on its side (CIPA DC-008). */
function asksForQuarterTurn(segment: Uint8Array): boolean {
  const start = 6;
  if (!standsAt(segment, 0, [...letters('Exif'), 0, 0]) || segment.length < start + 8) return false;
  const exif = segment.subarray(start);
  const view = viewOf(exif);
  const little = standsAt(exif, 0, letters('II'));
  const directory = view.getUint32(4, little);
  if (directory + 2 > exif.length) return false;
  const entries = view.getUint16(directory, little);
  for (let index = 0; index < entries; index += 1) {
    const at = directory + 2 + 12 * index;
    if (at + 12 > exif.length) return false;
    if (view.getUint16(at, little) !== orientationTag) continue;
    const orientation = view.getUint16(at + 8, little);
    return orientation >= 5 && orientation <= 8;
  }
  return false;
}
