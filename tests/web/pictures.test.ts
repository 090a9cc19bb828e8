/** Pictures by HTTP over real parts: whole by post, the same bytes by get, refused with number and bound. */

import { request } from 'node:http';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { pictureLimits } from '../../daemon/piece/picture/picture.ts';
import { problemDocumentSchema } from '../../daemon/web/problem.ts';
import { bytesOf, png, turnedJpeg } from '../piece/picture/pictures.ts';
import { idOf } from '../store/a-piece.ts';
import { LibraryBench, libraryBench } from './library-bench.ts';

let bench: LibraryBench;
beforeAll(async () => {
  bench = await LibraryBench.open();
});
afterAll(() => bench.close());

function largest(seed: number): Buffer {
  const without = png(4000, 3000, { paddingBytes: 1, seed }).length - 1;
  return png(4000, 3000, { paddingBytes: pictureLimits.maxBytes - without, seed });
}

describe('a picture', () => {
  test.each([
    ['image/png', bytesOf('png'), 24, 17],
    ['image/jpeg', bytesOf('jpeg'), 24, 17],
    ['image/jpeg', turnedJpeg(6), 17, 24],
    ['image/webp', bytesOf('webpLossy'), 24, 17],
    ['image/webp', bytesOf('webpAlpha'), 24, 17],
  ])('of %s comes back as it was, for ever and as no other type', async (mime, bytes, w, h) => {
    const posted = await bench.upload(bytes, mime);
    const id = idOf(bytes);
    expect(posted.json()).toEqual({ id, mime, widthPixels: w, heightPixels: h });
    const got = await bench.ask('GET', `/api/pictures/${id}`);
    expect(Buffer.compare(got.bytes, Buffer.from(bytes))).toBe(0);
    expect(got.headers).toMatchObject({
      'content-type': mime,
      'x-content-type-options': 'nosniff',
      'cache-control': 'private, max-age=31536000, immutable',
      'cross-origin-resource-policy': 'same-origin',
    });
    expect(got.headers['content-security-policy']).toContain("default-src 'self'");
    const head = await bench.ask('HEAD', `/api/pictures/${id}`);
    expect([head.status, head.headers['content-type'], head.bytes.length]).toEqual([200, mime, 0]);
  });

  test('of the largest size reaches control in parts of less than 256 kB', async () => {
    const bytes = largest(1);
    expect(bytes).toHaveLength(4_000_000);
    const before = bench.requests.length;
    expect((await bench.upload(bytes)).json()).toMatchObject({ id: idOf(bytes) });
    const parts = bench.requests.slice(before);
    expect(parts).toHaveLength(41);
    const longest = Math.max(...parts.map((part) => JSON.stringify(part).length));
    expect(longest).toBeLessThan(132_000);
    const got = await bench.ask('GET', `/api/pictures/${idOf(bytes)}`);
    expect(Buffer.compare(got.bytes, bytes)).toBe(0);
  });

  test('is told by its bytes, whatever the header says', async () => {
    const posted = await bench.upload(bytesOf('webpLossless'), 'image/png');
    expect(posted.json()).toMatchObject({ mime: 'image/webp' });
  });

  test('is stored among several at once', async () => {
    const pictures = [1, 2, 3, 4, 5, 6].map((seed) => png(60, 40, { paddingBytes: 200_000, seed }));
    const replies = await Promise.all(pictures.map((bytes) => bench.upload(bytes)));
    expect(replies.map(({ status }) => status)).toEqual(pictures.map(() => 200));
    for (const bytes of pictures) {
      const got = await bench.ask('GET', `/api/pictures/${idOf(bytes)}`);
      expect(got.bytes.length).toBe(bytes.length);
    }
  });

  test('is away while control is', async () => {
    const own = await libraryBench();
    await own.endControl();
    expect((await own.upload(bytesOf('png'))).status).toBe(503);
  });

  test('that finds no room on the disk is 503 with the reason, and others go on', async () => {
    const own = await libraryBench({ maxPages: 120 });
    const reply = await own.upload(png(60, 40, { paddingBytes: 1_000_000 }));
    expect(reply.status).toBe(503);
    expect(problemDocumentSchema.parse(reply.json()).detail).toContain('the disk is full');
    expect((await own.upload(bytesOf('png'))).status).toBe(200);
  });
});

describe('refused with number and bound', () => {
  test.each<[string, Uint8Array, number, string]>([
    ['nothing', new Uint8Array(0), 422, 'at least 1 byte'],
    ['a GIF', Buffer.from('GIF89a..............'), 422, 'JPEG, PNG or WebP'],
    ['an SVG', Buffer.from('<svg onload="alert(1)"/>'), 422, 'JPEG, PNG or WebP'],
    ['a JPEG cut short', bytesOf('jpeg').subarray(0, 200), 422, 'a whole still picture'],
    ['a PNG that lies about its size', png(70_000, 1), 422, 'at most 20000 pixels on a side'],
    ['41 megapixels', png(8200, 5000), 422, 'at most 40000000 pixels'],
    ['4,000,001 bytes', Buffer.concat([largest(2), Buffer.alloc(1)]), 413, 'at most 4000000 bytes'],
  ])('%s', async (_name, bytes, status, bound) => {
    const reply = await bench.upload(bytes);
    const [problem] = problemDocumentSchema.parse(reply.json()).problems;
    expect([reply.status, problem?.bound]).toEqual([status, bound]);
    expect(problem?.value).not.toBe('');
    expect((await bench.ask('GET', `/api/pictures/${idOf(bytes)}`)).status).toBe(404);
  });

  test('more than 4 MB that did not announce itself', async () => {
    const status = await new Promise<number | undefined>((resolve, reject) => {
      const headers = {
        origin: bench.url,
        'x-nightbath': '1',
        'content-type': 'image/png',
        'transfer-encoding': 'chunked',
      };
      const options = { method: 'POST', headers, agent: false };
      const asked = request(`${bench.url}/api/pictures`, options, (response) => {
        response.resume();
        resolve(response.statusCode);
      });
      asked.on('error', reject);
      asked.write(largest(3));
      asked.end(Buffer.alloc(100));
    });
    expect(status).toBe(413);
  });
});
