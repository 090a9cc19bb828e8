/** Pieces out of one library and into another: the same piece and bytes, a safe name, and all or nothing. */

import { join } from 'node:path';
import { format } from 'prettier';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { z } from 'zod';
import { packageRoot } from '../../daemon/settings/door.ts';
import { dispositionOf } from '../../daemon/web/piece-document.ts';
import { problemDocumentSchema } from '../../daemon/web/problem.ts';
import {
  pieceDocumentSchema,
  pieceSummarySchema,
  savedPieceSchema,
} from '../../daemon/wire/library.ts';
import type { PieceDocument, SavedPiece } from '../../daemon/wire/library.ts';
import { planFileSchema } from '../../daemon/wire/plan-file.ts';
import { bytesOf, png } from '../piece/picture/pictures.ts';
import { aPiece, aTracedPiece, idOf } from '../store/a-piece.ts';
import { LibraryBench, libraryBench } from './library-bench.ts';

const photo = bytesOf('jpeg');
const scan = png(640, 480, { paddingBytes: 150_001 });

function entry(bytes: Uint8Array, mime: PieceDocument['pictures'][number]['mime']) {
  return { id: idOf(bytes), mime, base64: Buffer.from(bytes).toString('base64') };
}

/** A leaf traced on two pictures, as the library writes it. */
function document(changes: object = {}): object {
  return {
    format: 'nightbath-piece',
    formatVersion: 1,
    piece: aTracedPiece(idOf(photo), idOf(scan)),
    pictures: [entry(photo, 'image/jpeg'), entry(scan, 'image/png')],
    ...changes,
  };
}

function imported(bench: LibraryBench, body: object | string) {
  return bench.ask('POST', '/api/pieces/import', { body });
}

describe('a piece with pictures', () => {
  test('goes from one library to another, and is the same there', async () => {
    const one = await libraryBench();
    const other = await libraryBench();
    for (const bytes of [photo, scan]) await one.upload(bytes);
    const piece = aTracedPiece(idOf(photo), idOf(scan));
    const { id } = pieceSummarySchema.parse(
      (await one.ask('POST', '/api/pieces', { body: { piece } })).json(),
    );
    const exported = await one.ask('GET', `/api/pieces/${id}/export`);
    expect(exported.headers).toMatchObject({
      'content-type': 'application/json',
      'content-disposition': expect.stringContaining('beech-leaf-brooch-v1.piece.json') as string,
    });
    expect(pieceDocumentSchema.parse(exported.json())).toEqual(document());

    const reply = await imported(other, exported.bytes.toString());
    expect(reply.json()).toMatchObject({ version: 1, name: 'Beech leaf brooch', archived: false });
    const { id: there } = pieceSummarySchema.parse(reply.json());
    const saved = await other.ask('GET', `/api/pieces/${there}`);
    expect(savedPieceSchema.parse(saved.json()).piece).toEqual(piece);
    for (const bytes of [photo, scan]) {
      const got = await other.ask('GET', `/api/pictures/${idOf(bytes)}`);
      expect(Buffer.compare(got.bytes, Buffer.from(bytes))).toBe(0);
    }
    const again = await other.ask('GET', `/api/pieces/${there}/export`);
    expect(again.bytes.toString()).toBe(exported.bytes.toString());
  });

  test('is exported in the version asked for; a piece without pictures has an empty list', async () => {
    const bench = await libraryBench();
    const added = await bench.ask('POST', '/api/pieces', { body: { piece: aPiece('First') } });
    const { id } = pieceSummarySchema.parse(added.json());
    await bench.ask('PUT', `/api/pieces/${id}`, { body: { piece: aPiece('Second'), version: 1 } });
    const first = await bench.ask('GET', `/api/pieces/${id}/export?version=1`);
    expect(first.json()).toEqual({
      format: 'nightbath-piece',
      formatVersion: 1,
      piece: aPiece('First'),
      pictures: [],
    });
    expect((await bench.ask('GET', `/api/pieces/${id}/export?version=3`)).status).toBe(404);
    const head = await bench.ask('HEAD', `/api/pieces/${id}/export`);
    expect(head.headers['content-disposition']).toContain('second-v2.piece.json');
  });

  test('takes a document of the largest pictures, and four times 3 MB is the most', async () => {
    const bench = await libraryBench();
    const large = [1, 2, 3, 4].map((seed) => png(900, 900, { paddingBytes: 2_990_000, seed }));
    const body = document({
      piece: aTracedPiece(...large.map(idOf)),
      pictures: large.map((bytes) => entry(bytes, 'image/png')),
    });
    expect((await imported(bench, body)).status).toBe(200);
  });

  test('is a file that the command line plans', () => {
    expect(planFileSchema.safeParse(document()).success).toBe(true);
  });
});

test.each([
  ['Poppy seed head', 'poppy-seed-head-v3.piece.json', 'Poppy%20seed%20head%20v3.piece.json'],
  ['../../etc/passwd', 'etc-passwd-v3.piece.json', '..%20..%20etc%20passwd%20v3.piece.json'],
  ['a"; filename="b', 'a-filename-b-v3.piece.json', 'a%20%3B%20filename%3D%20b%20v3.piece.json'],
  [
    'Füllhorn\r\nX: 1',
    'fu-llhorn-x-1-v3.piece.json',
    'F%C3%BCllhorn%20%20X%20%201%20v3.piece.json',
  ],
  ['けし', 'piece-v3.piece.json', '%E3%81%91%E3%81%97%20v3.piece.json'],
  ['\ud83c', 'piece-v3.piece.json', '%20v3.piece.json'],
  ['x'.repeat(200), `${'x'.repeat(60)}-v3.piece.json`, `${'x'.repeat(80)}%20v3.piece.json`],
])('a piece named %j is saved under a name that every system takes', (name, plain, written) => {
  const saved: SavedPiece = {
    id: 'one',
    version: 3,
    savedWallMs: 0,
    archived: false,
    piece: savedPieceSchema.shape.piece.parse(aPiece(name)),
  };
  expect(dispositionOf(saved)).toBe(`attachment; filename="${plain}"; filename*=UTF-8''${written}`);
});

describe('a document that is wrong', () => {
  let bench: LibraryBench;
  beforeAll(async () => {
    bench = await LibraryBench.open();
  });
  afterAll(() => bench.close());

  const [one, two] = [entry(photo, 'image/jpeg'), entry(scan, 'image/png')];
  const [leaf] = aTracedPiece(idOf(photo)).parts;
  test.each<[string, object, readonly string[]]>([
    ['of another format', document({ format: 'leaf' }), ['format']],
    ['of no format', document({ format: undefined }), ['format']],
    ['of version 0', document({ formatVersion: 0 }), ['formatVersion']],
    ['of a version in words', document({ formatVersion: '1' }), ['formatVersion']],
    ['without pictures', document({ pictures: undefined }), ['pictures']],
    ['with a field more', document({ owner: 'me' }), ['owner']],
    ['without a piece', document({ piece: undefined }), ['piece']],
    [
      'with an impossible part',
      document({
        piece: { ...aTracedPiece(idOf(photo), idOf(scan)), areaUncertainty: 0.95 },
      }),
      ['piece.areaUncertainty'],
    ],
    [
      'with a picture that nobody names',
      document({ piece: aTracedPiece(one.id) }),
      ['pictures[1].id'],
    ],
    [
      'without a picture that is named',
      document({ pictures: [one] }),
      ['piece.parts[1].outline.pictureId'],
    ],
    ['with a picture twice', document({ pictures: [one, two, one] }), ['pictures[2].id']],
    [
      'with bytes of another picture',
      document({ pictures: [one, { ...two, base64: one.base64 }] }),
      ['pictures[1].id'],
    ],
    [
      'with another type',
      document({ pictures: [{ ...one, mime: 'image/png' }, two] }),
      ['pictures[0].mime'],
    ],
    [
      'with a type that is not kept',
      document({ pictures: [{ ...one, mime: 'image/svg+xml' }, two] }),
      ['pictures[0].mime'],
    ],
    [
      'with base64 of another alphabet',
      document({ pictures: [{ ...one, base64: `${one.base64.slice(0, -5)}-_==` }, two] }),
      ['pictures[0].base64'],
    ],
    [
      'with base64 that ends early',
      document({ pictures: [{ ...one, base64: one.base64.slice(0, -3) }, two] }),
      ['pictures[0].base64'],
    ],
    [
      'with padding in the middle',
      document({ pictures: [{ ...one, base64: `AA==${one.base64}` }, two] }),
      ['pictures[0].base64'],
    ],
    [
      'with an empty picture',
      document({ pictures: [{ ...one, base64: '' }, two] }),
      ['pictures[0].base64'],
    ],
    [
      'with bytes that are no picture',
      document({ pictures: [one, { ...two, base64: 'R0lGODlhAAAA' }] }),
      ['pictures[1].base64'],
    ],
    [
      'with an id in capitals',
      document({ pictures: [{ ...one, id: one.id.toUpperCase() }, two] }),
      ['pictures[0].id'],
    ],
    [
      'with nine pictures',
      document({ pictures: Array.from({ length: 9 }, () => one) }),
      ['pictures'],
    ],
    [
      'with several things wrong at once',
      document({
        piece: { ...aTracedPiece(one.id), parts: [leaf, { ...leaf, sizes: {} }] },
        pictures: [{ ...one, mime: 'image/webp' }, two],
      }),
      [
        'piece.parts[1].sizes.thicknessMm',
        'piece.parts[1].sizes.faces',
        'pictures[1].id',
        'pictures[0].mime',
      ],
    ],
  ])('%s is refused by its fields, and nothing of it is stored', async (_name, body, fields) => {
    const reply = await imported(bench, body);
    const { problems } = problemDocumentSchema.parse(reply.json());
    expect([reply.status, problems.map(({ field }) => field)]).toEqual([422, fields]);
    for (const { value, bound, message } of problems) {
      expect(value).not.toBe('');
      expect(bound).not.toBe('');
      expect(message).not.toBe('');
    }
    expect((await bench.ask('GET', '/api/pieces')).json()).toEqual([]);
    expect(bench.requests.filter(({ command }) => command.kind !== 'snapshot')).toEqual([]);
  });

  test('of a later version is refused in a sentence, whatever else stands in it', async () => {
    const reply = await imported(bench, document({ formatVersion: 2, layers: [] }));
    const { detail, problems } = problemDocumentSchema.parse(reply.json());
    expect(reply.status).toBe(422);
    expect(detail).toContain('written by a newer Nightbath: its format version is 2');
    expect(problems).toMatchObject([{ field: 'formatVersion', value: '2', bound: 'at most 1' }]);
  });

  test.each<[string, string, number]>([
    ['nested 100,000 deep', `{"piece":${'['.repeat(100_000)}${']'.repeat(100_000)}}`, 400],
    ['nested 40 deep', `{"piece":${'{"a":'.repeat(40)}1${'}'.repeat(40)}}`, 400],
    ['with a prototype', '{"__proto__":{"format":"nightbath-piece"}}', 400],
    ['that is no JSON', '{"format":', 400],
    ['that is nothing', '', 400],
    ['of 17 MB and a bit', `"${'x'.repeat(17_000_001)}"`, 413],
    [
      'of a million fields',
      `{${Array.from({ length: 1_000_000 }, (_, n) => `"${n}":0`).join(',')}}`,
      400,
    ],
    [
      'of a million pictures',
      `{"format":"nightbath-piece","formatVersion":1,"pictures":[${'{},'.repeat(999_999)}{}]}`,
      400,
    ],
  ])('%s is refused', async (_name, body, status) => {
    const began = performance.now();
    const reply = await imported(bench, body);
    expect(reply.status, reply.bytes.toString().slice(0, 300)).toBe(status);
    expect(reply.bytes.length).toBeLessThan(20_000);
    // Far above what it takes; the bound only tells a reader that squares.
    expect(performance.now() - began).toBeLessThan(5000);
  });
});

test('config/piece.schema.json is current (`npx vitest run -u tests/web/piece-document` renews it)', async () => {
  const schema = z.toJSONSchema(pieceDocumentSchema, { target: 'draft-7', io: 'input' });
  const options = { parser: 'json', printWidth: 100, singleQuote: true } as const;
  const text = await format(JSON.stringify(schema), options);
  expect(schema).toMatchObject({
    additionalProperties: false,
    required: ['format', 'formatVersion', 'piece', 'pictures'],
  });
  const file = join(packageRoot(), 'config', 'piece.schema.json');
  await expect(text).toMatchFileSnapshot(file);
});
