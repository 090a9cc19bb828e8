/** Pictures by their bytes: what is kept, with its size, and what is refused, with the reason. */

import { describe, expect, test } from 'vitest';
import { pictureLimits, readPicture } from '../../../daemon/piece/picture/picture.ts';
import { bytesOf, encoded, png, turnedJpeg } from './pictures.ts';

function sizeOf(bytes: Uint8Array): string {
  const answer = readPicture(bytes, 'picture');
  if (!answer.ok) return answer.problem.message;
  const { mime, widthPixels, heightPixels } = answer.value;
  return `${mime} ${widthPixels} x ${heightPixels}`;
}

function changed(bytes: Uint8Array, at: number, ...values: readonly number[]): Uint8Array {
  const copy = Uint8Array.from(bytes);
  copy.set(values, at < 0 ? copy.length + at : at);
  return copy;
}

/** Where the frame header of the JPEG begins, at its marker. */
const frameAt = Buffer.from(bytesOf('jpeg')).indexOf(Buffer.from([0xff, 0xc0]));

describe('kept', () => {
  test.each([
    ['png', 'image/png 24 x 17'],
    ['jpeg', 'image/jpeg 24 x 17'],
    ['webpLossy', 'image/webp 24 x 17'],
    ['webpLossless', 'image/webp 24 x 17'],
    ['webpAlpha', 'image/webp 24 x 17'],
  ] as const)('%s as a browser writes it', (kind, size) => {
    expect(sizeOf(bytesOf(kind))).toBe(size);
  });

  test.each([1, 2, 3, 4])('a JPEG of Exif orientation %i lies as it is stored', (orientation) => {
    expect(sizeOf(turnedJpeg(orientation))).toBe('image/jpeg 24 x 17');
  });

  test.each([5, 6, 7, 8])('a JPEG of Exif orientation %i stands upright', (orientation) => {
    expect(sizeOf(turnedJpeg(orientation))).toBe('image/jpeg 17 x 24');
    expect(sizeOf(turnedJpeg(orientation, false))).toBe('image/jpeg 17 x 24');
  });

  test('an Exif directory that points outside of its segment is passed over', () => {
    const bytes = turnedJpeg(6);
    const directory = bytes.indexOf('Exif') + 6 + 4;
    expect(sizeOf(changed(bytes, directory, 0xff, 0xff, 0xff, 0x7f))).toBe('image/jpeg 24 x 17');
  });

  test('what a camera adds behind the end of a JPEG is let be', () => {
    const bytes = Buffer.concat([bytesOf('jpeg'), Buffer.from([0xff, 0xd8, 1, 2, 3])]);
    expect(sizeOf(bytes)).toBe('image/jpeg 24 x 17');
  });

  test('a picture of exactly the largest size in pixels and bytes', () => {
    expect(sizeOf(png(8000, 5000))).toBe('image/png 8000 x 5000');
    const without = png(100, 100, { paddingBytes: 1 }).length - 1;
    const paddingBytes = pictureLimits.maxBytes - without;
    expect(sizeOf(png(100, 100, { paddingBytes }))).toBe('image/png 100 x 100');
    expect(sizeOf(png(100, 100, { paddingBytes: paddingBytes + 1 }))).toBe(
      'The picture has 4000001 bytes; it must have at most 4000000 bytes. Make it smaller.',
    );
  });
});

describe('cut off at any byte', () => {
  test.each(Object.keys(encoded) as (keyof typeof encoded)[])('%s is refused', (kind) => {
    const bytes = bytesOf(kind);
    for (let length = 0; length < bytes.length; length += 1) {
      const answer = readPicture(bytes.subarray(0, length), 'picture');
      // The last byte of a WebP of odd length is padding, which its own length still counts.
      expect(answer.ok, `${length} of ${bytes.length}`).toBe(false);
    }
  });
});

const gif = Buffer.concat([Buffer.from('GIF89a'), Buffer.alloc(40)]);
const lossy = bytesOf('webpLossy');
const frame = bytesOf('jpeg').subarray(frameAt, frameAt + 19);

describe('refused', () => {
  test.each<[string, Uint8Array, string]>([
    ['nothing', new Uint8Array(0), 'is empty'],
    ['GIF', gif, 'is GIF; it must be JPEG, PNG or WebP'],
    ['SVG', Buffer.from('<svg xmlns="http://www.w3.org/2000/svg"/>'), 'is SVG'],
    ['SVG behind an XML line', Buffer.from('<?xml version="1.0"?><svg/>'), 'is SVG or XML'],
    ['HEIC', Buffer.from('\0\0\0\u0018ftypheic\0\0\0\0'), 'is HEIC or AVIF'],
    ['a page', Buffer.from('<!doctype html><script>1</script>'), 'is another kind of file'],
    ['a PNG of no width', png(0, 10), 'has 0 x 10 pixels'],
    ['a PNG of no height', png(10, 0), 'has 10 x 0 pixels'],
    ['a PNG of 40,008,000 pixels', png(8000, 5001), 'at most 40000000 pixels'],
    ['a PNG of endless width', png(0xffffffff, 1), 'at most 20000 pixels on a side'],
    ['a PNG whose width was changed', changed(png(10, 10), 19, 11), 'is damaged'],
    ['a PNG of 3 bits', changed(bytesOf('png'), 24, 3), 'is damaged'],
    ['a PNG with two headers', png(10, 10, { extra: 'IHDR' }), 'states two sizes'],
    ['a PNG that moves', png(10, 10, { extra: 'acTL' }), 'is animated'],
    ['a PNG with a chunk beyond its end', changed(bytesOf('png'), 33, 0x7f), 'is cut off'],
    ['a JPEG of no height', changed(bytesOf('jpeg'), frameAt + 5, 0, 0), 'has 24 x 0 pixels'],
    [
      'a JPEG of 65,535 x 65,535',
      changed(bytesOf('jpeg'), frameAt + 5, 255, 255, 255, 255),
      'has 65535 x 65535 pixels; it must have at most 20000 pixels on a side',
    ],
    [
      'a JPEG with a second size',
      Buffer.concat([
        bytesOf('jpeg').subarray(0, frameAt),
        changed(frame, 5, 0, 1, 0, 1),
        bytesOf('jpeg').subarray(frameAt),
      ]),
      'states two sizes',
    ],
    ['a JPEG without loss', changed(bytesOf('jpeg'), frameAt + 1, 0xc3), 'browsers do not show'],
    ['a JPEG of 12 bits', changed(bytesOf('jpeg'), frameAt + 4, 12), 'browsers do not show'],
    ['a JPEG of two components', changed(bytesOf('jpeg'), frameAt + 9, 2), 'is damaged'],
    ['a JPEG that ends at once', Buffer.from([0xff, 0xd8, 0xff, 0xd9]), 'holds no pixels'],
    ['a JPEG that is only its magic', Buffer.from([0xff, 0xd8, 0xff]), 'is cut off'],
    ['a WebP that states more bytes', changed(lossy, 4, 0xff, 0xff), 'is cut off'],
    ['a WebP with a later frame', changed(lossy, 20, 0x71), 'is damaged'],
    ['a WebP with another start code', changed(lossy, 23, 0), 'is damaged'],
    ['a WebP of a later version', changed(bytesOf('webpLossless'), 24, 0xff), 'is damaged'],
    ['a WebP that moves', changed(bytesOf('webpAlpha'), 20, 0x12), 'is animated'],
    ['a WebP whose canvas is larger', changed(bytesOf('webpAlpha'), 24, 0x18), 'two sizes'],
  ])('%s', (_name, bytes, words) => {
    const answer = readPicture(bytes, 'pictures[2].base64');
    expect(answer).toMatchObject({ ok: false, problem: { field: 'pictures[2].base64' } });
    if (!answer.ok) expect(answer.problem.message).toContain(words);
  });
});

describe('in time', () => {
  test.each<[string, Buffer]>([
    [
      'a JPEG that is all restart marks',
      Buffer.concat([
        bytesOf('jpeg').subarray(0, -2),
        Buffer.alloc(3_900_000, Buffer.from([0xff, 0xd0])),
        Buffer.from([0xff, 0xd9]),
      ]),
    ],
    [
      'a JPEG that is all fill bytes',
      Buffer.concat([bytesOf('jpeg').subarray(0, 2), Buffer.alloc(3_900_000, 0xff)]),
    ],
    [
      'a PNG of empty chunks',
      Buffer.concat([
        png(9, 9).subarray(0, 33),
        Buffer.alloc(3_900_000, Buffer.from('\0\0\0\0emPty\0\0\0', 'latin1')),
        png(9, 9).subarray(33),
      ]),
    ],
  ])('%s of 3.9 MB does not hold the reader up', (_name, bytes) => {
    const began = performance.now();
    readPicture(bytes, 'picture');
    // A few milliseconds are usual; a loop that squares would take minutes.
    expect(performance.now() - began).toBeLessThan(10_000);
  });
});
