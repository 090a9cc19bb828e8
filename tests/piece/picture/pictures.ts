/** Small pictures as a browser writes them (24 x 17 pixels), and headers made by hand after the standards. */

import { deflateSync, crc32 as zlibCrc32 } from 'node:zlib';

/** Written by a browser's own encoders from one canvas; colour profiles are taken out. */
export const encoded = {
  png: [
    'iVBORw0KGgoAAAANSUhEUgAAABgAAAARCAYAAADHeGwwAAAAXElEQVR4AeyQsQkAIAwEQ7C31/1cwRXczS0c',
    'w0YbsX0jmEISeNJ8+PxxyWm8FNPj0QuorZNEp8X1Gpx+JPVZA0jsI0TBM0kE2SzDRhS9I4nWPVw7ADovDRYA',
    'wU0AAAD//5bG4DIAAAAGSURBVAMAP8ddg/Fu8t8AAAAASUVORK5CYII=',
  ].join(''),
  jpeg: [
    '/9j/4AAQSkZJRgABAQAAAQABAAD/2wBDABALDA4MChAODQ4SERATGCgaGBYWGDEjJR0oOjM9PDkzODdASFxO',
    'QERXRTc4UG1RV19iZ2hnPk1xeXBkeFxlZ2P/2wBDARESEhgVGC8aGi9jQjhCY2NjY2NjY2NjY2NjY2NjY2Nj',
    'Y2NjY2NjY2NjY2NjY2NjY2NjY2NjY2NjY2NjY2NjY2P/wAARCAARABgDASIAAhEBAxEB/8QAFwABAAMAAAAA',
    'AAAAAAAAAAAAAAIDBP/EABgQAAMBAQAAAAAAAAAAAAAAAAABAgMR/8QAFQEBAQAAAAAAAAAAAAAAAAAAAAL/',
    'xAAXEQEBAQEAAAAAAAAAAAAAAAAAEQIh/9oADAMBAAIRAxEAPwDJrvUaOUlxDLer0UtLjJXgrt06a6IwUWqV',
    'N8JuYrtXAAhYAAAAA//Z',
  ].join(''),
  webpLossy: [
    'UklGRlYAAABXRUJQVlA4IEoAAABwAwCdASoYABEAPtFiqk+oJaOiKAgBABoJZwCdAA94KxGaoAAA+kEIBdgN',
    'or7hQv1Ko/fir8M7L8m4vG4g/4+wm/ix0aKiS7gAAA==',
  ].join(''),
  webpLossless: [
    'UklGRkYAAABXRUJQVlA4TDoAAAAvFwAEABfwhyyBQIo9GmsCAcpUYaj5jz+hAaNIkhTte/2xOjpMpRenIKL/',
    '8wAAQAxh/KundAIAHy4A',
  ].join(''),
  webpAlpha: [
    'UklGRogAAABXRUJQVlA4WAoAAAAQAAAAFwAAEAAAQUxQSCEAAAABFzBAERGGmgBAGjZout3Pm6Rqgoj+TwBc',
    'PJn1r7a3wnMAVlA4IEAAAABwAwCdASoYABEAPtFWpkwoJKOiKA1RABoJZQDKABXdQb9t/MAA/u6mOGtHe7uZ',
    'DG6X+B+e/W2A/f75XvkiSoAA',
  ].join(''),
} as const;

export function bytesOf(kind: keyof typeof encoded): Uint8Array<ArrayBuffer> {
  return Uint8Array.from(Buffer.from(encoded[kind], 'base64'));
}

function chunk(name: string, data: Uint8Array): Buffer {
  const named = Buffer.concat([Buffer.from(name, 'latin1'), data]);
  const length = Buffer.alloc(4);
  length.writeUInt32BE(data.length);
  const crc = Buffer.alloc(4);
  crc.writeUInt32BE(zlibCrc32(named));
  return Buffer.concat([length, named, crc]);
}

const pngSignature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);

/** A grey PNG that states a size, with as many bytes of noise beside its pixels as asked for. */
export function png(
  widthPixels: number,
  heightPixels: number,
  more: { readonly paddingBytes?: number; readonly seed?: number; readonly extra?: string } = {},
): Buffer {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(widthPixels, 0);
  header.writeUInt32BE(heightPixels, 4);
  header[8] = 8;
  const { paddingBytes = 0, seed = 1, extra } = more;
  const padding = Buffer.alloc(paddingBytes);
  for (let at = 0; at < paddingBytes; at += 1)
    padding[at] = (at * 31 + seed * 17 + (at >> 8)) & 0xff;
  return Buffer.concat([
    pngSignature,
    chunk('IHDR', header),
    ...(extra === undefined ? [] : [chunk(extra, header)]),
    ...(paddingBytes === 0 ? [] : [chunk('npAd', padding)]),
    chunk('IDAT', deflateSync(Buffer.alloc(64, seed & 0xff))),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

/** A PNG that is whole by its chunks, with nothing in them that a decoder could make pixels of. */
export function spoiltPng(): Buffer {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(64, 0);
  header.writeUInt32BE(48, 4);
  header[8] = 8;
  const noise = Buffer.alloc(64, 0xff);
  const end = chunk('IEND', Buffer.alloc(0));
  return Buffer.concat([pngSignature, chunk('IHDR', header), chunk('IDAT', noise), end]);
}

/** A whole PNG of 160 x 120 pixels that can be looked at: a disc on a ground, in a hue of its own. */
export function discPng(hue: number): Buffer {
  const [width, height] = [160, 120];
  const rows = Buffer.alloc(height * (1 + 3 * width));
  const colour = [200, 120, 60].map((value) => (value + 53 * hue) % 256);
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      const inside = Math.hypot(x - width / 2, y - height / 2) < 45;
      const at = y * (1 + 3 * width) + 1 + 3 * x;
      for (let one = 0; one < 3; one += 1) rows[at + one] = inside ? (colour[one] ?? 0) : 225 - y;
    }
  }
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header[8] = 8;
  header[9] = 2;
  return Buffer.concat([
    pngSignature,
    chunk('IHDR', header),
    chunk('IDAT', deflateSync(rows)),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

/** A JPEG with an Exif orientation put in behind its first marker (CIPA DC-008). */
export function turnedJpeg(orientation: number, little = true): Buffer {
  const tiff = Buffer.alloc(8 + 2 + 12 + 4);
  const put16 = (value: number, at: number) =>
    little ? tiff.writeUInt16LE(value, at) : tiff.writeUInt16BE(value, at);
  const put32 = (value: number, at: number) =>
    little ? tiff.writeUInt32LE(value, at) : tiff.writeUInt32BE(value, at);
  tiff.write(little ? 'II' : 'MM', 0, 'latin1');
  put16(42, 2);
  put32(8, 4);
  put16(1, 8);
  put16(0x0112, 10);
  put16(3, 12);
  put32(1, 14);
  put16(orientation, 18);
  const body = Buffer.concat([Buffer.from('Exif\0\0', 'latin1'), tiff]);
  const head = Buffer.from([0xff, 0xe1, 0, 0]);
  head.writeUInt16BE(body.length + 2, 2);
  const plain = bytesOf('jpeg');
  return Buffer.concat([plain.subarray(0, 2), head, body, plain.subarray(2)]);
}
