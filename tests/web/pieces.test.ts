/** The library by HTTP over a real control socket and a real database: saved, edited, archived, refused. */

import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import * as z from 'zod/mini';
import { problemDocumentSchema } from '../../daemon/web/problem.ts';
import {
  maxPieceCharacters,
  pieceSummarySchema,
  savedPieceSchema,
} from '../../daemon/wire/library.ts';
import { aPiece, aTracedPiece } from '../store/a-piece.ts';
import { LibraryBench, libraryBench } from './library-bench.ts';

const summaries = z.array(pieceSummarySchema);

async function lines(bench: LibraryBench, query = '') {
  return summaries.parse((await bench.ask('GET', `/api/pieces${query}`)).json());
}

async function saved(bench: LibraryBench, piece: object = aPiece()) {
  const reply = await bench.ask('POST', '/api/pieces', { body: { piece } });
  expect(reply.status, reply.bytes.toString()).toBe(200);
  return pieceSummarySchema.parse(reply.json());
}

describe('the library', () => {
  test('saves, edits, shows versions, copies, archives and brings back', async () => {
    const bench = await libraryBench();
    expect(await lines(bench)).toEqual([]);
    const { id, version } = await saved(bench);
    expect(version).toBe(1);
    const put = await bench.ask('PUT', `/api/pieces/${id}`, {
      body: { piece: aPiece('Larger head', 30), version: 1 },
    });
    expect(put.json()).toMatchObject({ id, version: 2, name: 'Larger head', partCount: 2 });

    const newest = savedPieceSchema.parse((await bench.ask('GET', `/api/pieces/${id}`)).json());
    expect(newest).toMatchObject({ version: 2, piece: aPiece('Larger head', 30) });
    const first = await bench.ask('GET', `/api/pieces/${id}?version=1`);
    expect(first.json()).toMatchObject({ version: 1, piece: aPiece() });
    expect((await bench.ask('GET', `/api/pieces/${id}?version=3`)).status).toBe(404);
    const versions = await bench.ask('GET', `/api/pieces/${id}/versions`);
    expect(summaries.parse(versions.json()).map((one) => one.version)).toEqual([2, 1]);

    const copy = await bench.ask('POST', `/api/pieces/${id}/duplicate`, { body: {} });
    expect(copy.json()).toMatchObject({ version: 1, name: 'Larger head (copy)' });
    const named = await bench.ask('POST', `/api/pieces/${id}/duplicate`, {
      body: { name: 'Smaller head' },
    });
    expect(named.json()).toMatchObject({ version: 1, name: 'Smaller head' });
    expect((await lines(bench)).map(({ name }) => name)).toEqual([
      'Smaller head',
      'Larger head (copy)',
      'Larger head',
    ]);
    expect(await lines(bench, '?limit=1')).toHaveLength(1);

    const gone = await bench.ask('DELETE', `/api/pieces/${id}`);
    expect([gone.status, gone.json()]).toMatchObject([200, { id, archived: true, version: 2 }]);
    expect((await lines(bench)).map(({ name }) => name)).not.toContain('Larger head');
    expect((await lines(bench, '?archived=true')).map((one) => one.id)).toEqual([id]);
    const edit = await bench.ask('PUT', `/api/pieces/${id}`, {
      body: { piece: aPiece('Late'), version: 2 },
    });
    expect(edit.status).toBe(409);
    const back = await bench.ask('POST', `/api/pieces/${id}/restore`, { body: {} });
    expect(back.json()).toMatchObject({ id, archived: false });
    expect(await lines(bench)).toHaveLength(3);
  });

  test('tells the second of two pages which version is newer, and keeps what both wrote', async () => {
    const bench = await libraryBench();
    const { id } = await saved(bench);
    const edit = (name: string, version = 1) =>
      bench.ask('PUT', `/api/pieces/${id}`, { body: { piece: aPiece(name), version } });
    const [one, other] = await Promise.all([edit('From the bench'), edit('From the phone')]);
    const [won, lost] = one.status === 200 ? [one, other] : [other, one];
    expect([won.status, lost.status]).toEqual([200, 409]);
    const problem = problemDocumentSchema.parse(lost.json());
    expect(problem.type).toBe('urn:nightbath:problem:stale');
    expect(problem.problems).toMatchObject([{ field: 'version', value: '1', bound: '2' }]);
    const winner = pieceSummarySchema.parse(won.json()).name;
    expect(problem.detail).toContain(`Version 2 of this piece ("${winner}")`);
    // Having looked at version 2, the other one can be saved on top of it.
    const mine = winner === 'From the bench' ? 'From the phone' : 'From the bench';
    expect((await edit(mine, 2)).json()).toMatchObject({ version: 3, name: mine });
    const kept = await bench.ask('GET', `/api/pieces/${id}?version=2`);
    expect(kept.json()).toMatchObject({ piece: { name: winner } });
  });

  test('does a repeat under the same key once', async () => {
    const bench = await libraryBench();
    const twice = { body: { piece: aPiece() }, headers: { 'idempotency-key': 'same' } };
    const replies = [
      await bench.ask('POST', '/api/pieces', twice),
      await bench.ask('POST', '/api/pieces', twice),
    ];
    expect(replies[0]?.json()).toEqual(replies[1]?.json());
    expect(await lines(bench)).toHaveLength(1);
  });

  test('saves a trace of 2,000 clicks', async () => {
    const bench = await libraryBench();
    const turns = Array.from({ length: 2000 }, (_, index) => (index * Math.PI) / 1000);
    const points = turns.map((angle) => ({
      xMm: 50 + 40 * Math.cos(angle),
      yMm: 50 + 30 * Math.sin(angle),
    }));
    const picturePoints = points.map(({ xMm, yMm }) => ({
      x: Math.round(xMm * 37),
      y: Math.round(yMm * 37),
    }));
    const { parts, ...rest } = aTracedPiece('unused');
    const piece = {
      ...rest,
      parts: parts.map((part) => ({ ...part, outline: { points, picturePoints } })),
    };
    expect(JSON.stringify(piece).length).toBeGreaterThan(120_000);
    const { id, areaMm2 } = await saved(bench, piece);
    // Both faces of an ellipse of 40 x 30 mm half axes, and some rim beside.
    expect(areaMm2).toBeGreaterThan(2 * Math.PI * 40 * 30 * 0.999);
    expect((await bench.ask('GET', `/api/pieces/${id}`)).json()).toMatchObject({ piece });
  });

  test('is away while control is, and its pieces can still be read', async () => {
    const bench = await libraryBench();
    const { id } = await saved(bench);
    await bench.endControl();
    const reply = await bench.ask('POST', '/api/pieces', { body: { piece: aPiece('Other') } });
    expect(reply.status).toBe(503);
    expect((await bench.ask('GET', `/api/pieces/${id}`)).status).toBe(200);
    expect(await lines(bench)).toHaveLength(1);
  });
});

const [ball] = aPiece().parts;
const wide = { ...aPiece(), parts: [{ ...ball, sizes: { diameterMm: 1e9 } }] };

describe('refused with its field, and nothing stored', () => {
  let bench: LibraryBench;
  beforeAll(async () => {
    bench = await LibraryBench.open();
  });
  afterAll(() => bench.close());

  test.each<[string, unknown, number, string]>([
    ['no piece', {}, 422, 'piece'],
    ['a piece that is text', { piece: 'ball' }, 422, 'piece'],
    ['a field of no such name', { piece: { ...aPiece(), colour: 'red' } }, 422, 'piece.colour'],
    ['no name', { piece: { ...aPiece(), name: '' } }, 422, 'piece.name'],
    ['a name of spaces', { piece: { ...aPiece(), name: '  ' } }, 422, 'piece.name'],
    ['no parts', { piece: { ...aPiece(), parts: [] } }, 422, 'piece.parts'],
    ['an impossible size', { piece: wide }, 422, 'piece.parts[0].sizes.diameterMm'],
    [
      'an unknown kind',
      { piece: { ...aPiece(), parts: [{ ...ball, kind: 'cube' }] } },
      422,
      'piece.parts[0].kind',
    ],
    [
      'a material twice',
      { piece: { ...aPiece(), materials: [{ id: 'glass' }, { id: 'glass' }] } },
      422,
      'piece.materials[1].id',
    ],
    [
      'a picture that is not stored',
      { piece: aTracedPiece('a'.repeat(64)) },
      422,
      'piece.parts[0].outline.pictureId',
    ],
    ['300 kB', { piece: { ...aPiece(), name: 'x'.repeat(300_000) } }, 413, 'body'],
  ])('%s', async (_name, body, status, field) => {
    const reply = await bench.ask('POST', '/api/pieces', { body: JSON.stringify(body) });
    const document = problemDocumentSchema.parse(reply.json());
    expect([reply.status, document.problems[0]?.field]).toEqual([status, field]);
    expect(document.problems[0]?.message).toMatch(
      new RegExp(field.replaceAll(/[[\].]/g, '.'), 'i'),
    );
    expect(await lines(bench)).toEqual([]);
  });

  test('a piece that would be too long for control', async () => {
    // Short as typed, long as numbers are written: 4 characters become 21.
    const far = Array.from({ length: 2000 }, () => '{"x":1e20,"y":1e20}').join(',');
    const { parts, ...rest } = aTracedPiece('unused');
    const part = { ...parts[0], outline: { ...parts[0]?.outline, pictureId: undefined } };
    const text = JSON.stringify({ piece: { ...rest, parts: [part, part, part, part] } });
    const body = text.replaceAll(/"picturePoints":\[[^\]]*\]/g, `"picturePoints":[${far}]`);
    const reply = await bench.ask('POST', '/api/pieces', { body });
    const [problem] = problemDocumentSchema.parse(reply.json()).problems;
    expect([reply.status, problem?.field]).toEqual([413, 'piece']);
    expect(problem?.bound).toBe(`at most ${maxPieceCharacters} characters`);
  });

  test.each([
    ['PUT', '/api/pieces/nobody', { piece: aPiece(), version: 1 }],
    ['DELETE', '/api/pieces/nobody', undefined],
    ['POST', '/api/pieces/nobody/restore', {}],
    ['POST', '/api/pieces/nobody/duplicate', {}],
    ['GET', '/api/pieces/nobody', undefined],
    ['GET', '/api/pieces/nobody/versions', undefined],
    ['GET', '/api/pieces/nobody/export', undefined],
    ['GET', '/api/pieces/%2e%2e', undefined],
    ['GET', `/api/pictures/${'0'.repeat(64)}`, undefined],
    ['GET', '/api/pictures/..%2fbench', undefined],
  ])('%s %s: there is none', async (method, path, body) => {
    const reply = await bench.ask(method, path, body === undefined ? {} : { body });
    expect(reply.status).toBe(404);
  });

  test.each([
    ['?archived=yes', 'archived'],
    ['?limit=0', 'limit'],
    ['?limit=1001', 'limit'],
    ['?before=-1', 'before'],
    ['?sort=name', 'sort'],
  ])('the query %s', async (query, field) => {
    const reply = await bench.ask('GET', `/api/pieces${query}`);
    expect(reply.status).toBe(422);
    expect(problemDocumentSchema.parse(reply.json()).problems[0]?.field).toBe(field);
  });

  test('an edit without its version, and a version below 1', async () => {
    const bench = await libraryBench();
    const { id } = await saved(bench);
    for (const version of [undefined, 0, 1.5, '1']) {
      const reply = await bench.ask('PUT', `/api/pieces/${id}`, {
        body: { piece: aPiece('Other'), version },
      });
      expect(reply.status).toBe(422);
      expect(problemDocumentSchema.parse(reply.json()).problems[0]?.field).toBe('version');
    }
    expect(await lines(bench)).toMatchObject([{ version: 1 }]);
  });
});

describe('a change that is not our page’s', () => {
  let bench: LibraryBench;
  beforeAll(async () => {
    bench = await LibraryBench.open();
  });
  afterAll(() => bench.close());

  const changes = [
    ['POST', '/api/pieces'],
    ['PUT', '/api/pieces/one'],
    ['DELETE', '/api/pieces/one'],
    ['POST', '/api/pieces/one/duplicate'],
    ['POST', '/api/pieces/import'],
    ['POST', '/api/pictures'],
  ] as const;
  const headers = [
    ['a foreign origin', { origin: 'https://evil.example' }, 403],
    ['no origin', { origin: null }, 403],
    ['no page header', { 'x-nightbath': null }, 403],
    ['a site beside', { 'sec-fetch-site': 'cross-site' }, 403],
  ] as const;
  test.each(changes.flatMap((change) => headers.map((header) => [...change, ...header] as const)))(
    '%s %s with %s reaches nobody',
    async (method, path, _name, sent, status) => {
      const body = method === 'DELETE' ? {} : { body: {} };
      const reply = await bench.ask(method, path, { ...body, headers: sent });
      expect(reply.status).toBe(status);
      expect(bench.requests.filter(({ command }) => command.kind !== 'snapshot')).toEqual([]);
    },
  );

  test('is refused without a key, and as a form would send it', async () => {
    const bench = await libraryBench();
    const body = { piece: aPiece() };
    const keyless = { 'idempotency-key': null };
    expect((await bench.ask('POST', '/api/pieces', { body, headers: keyless })).status).toBe(400);
    expect((await bench.ask('DELETE', '/api/pieces/one', { headers: keyless })).status).toBe(400);
    const form = { 'content-type': 'text/plain' };
    expect((await bench.ask('POST', '/api/pieces', { body, headers: form })).status).toBe(415);
    const put = await bench.ask('PUT', '/api/pieces/one', { body, headers: form });
    expect(put.status).toBe(415);
    expect((await bench.upload(new Uint8Array(9), 'text/plain')).status).toBe(415);
    expect((await bench.upload(new Uint8Array(9), 'image/svg+xml')).status).toBe(415);
  });

  test('names the methods that an address answers', async () => {
    const bench = await libraryBench();
    const reply = await bench.ask('POST', '/api/pieces/one', { body: {} });
    expect([reply.status, reply.headers.allow]).toEqual([405, 'GET, HEAD, PUT, DELETE']);
  });
});
