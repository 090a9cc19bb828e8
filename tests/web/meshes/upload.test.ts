/** Meshes over HTTP: the real server, the real thread, and its bounds. */

import { createHash } from 'node:crypto';
import { request } from 'node:http';
import { connect } from 'node:net';
import { describe, expect, test } from 'vitest';
import { problemDocumentSchema } from '../../../daemon/web/problem.ts';
import { meshAnswerSchema } from '../../../daemon/wire/mesh.ts';
import { asciiStl, ball, binaryStl, box, obj, text } from '../../piece/mesh/bodies.ts';
import { webUnderTest } from '../fixture.ts';
import type { WebUnderTest } from '../fixture.ts';
import { threeMf } from './packages.ts';

interface Sent {
  readonly status: number;
  readonly text: string;
}

interface Sending {
  readonly path?: string;
  readonly headers?: Readonly<Record<string, string>>;
}

/** Sends a file as our own page does, in one piece and with its length unless it says otherwise. */
function upload(web: WebUnderTest, body: Uint8Array, name: string, sending: Sending = {}) {
  return new Promise<Sent>((resolve, reject) => {
    const path = sending.path ?? `/api/meshes?fileName=${encodeURIComponent(name)}`;
    const headers = {
      host: web.host,
      origin: `http://${web.host}`,
      'x-nightbath': '1',
      'content-type': 'application/octet-stream',
      ...sending.headers,
    };
    const asked = request(
      { host: '127.0.0.1', port: web.port, method: 'POST', path, headers, agent: false },
      (response) => {
        let received = '';
        response.setEncoding('utf8');
        response.on('data', (chunk: string) => (received += chunk));
        response.on('error', reject);
        response.on('end', () => resolve({ status: response.statusCode ?? 0, text: received }));
      },
    );
    asked.on('error', reject);
    asked.end(body);
  });
}

function problemOf({ text: body }: Sent) {
  return problemDocumentSchema.parse(JSON.parse(body));
}

/** The head of an upload, for clients that then misbehave. */
function headOf(web: WebUnderTest, length: number): string {
  const lines = [
    'POST /api/meshes?fileName=a.stl HTTP/1.1',
    `Host: ${web.host}`,
    `Origin: http://${web.host}`,
    'X-Nightbath: 1',
    'Content-Type: application/octet-stream',
    `Content-Length: ${length}`,
  ];
  return `${lines.join('\r\n')}\r\n\r\n`;
}

/** A small file that takes very long: faces like combs, of nearly as many corners as are cut up. */
function toil(): Uint8Array {
  const teeth = 990;
  const corners = ['0 0 0', `${2 * teeth} 0 0`];
  for (let k = teeth; k > 0; k -= 1) corners.push(`${2 * k} 5 0`, `${2 * k - 1} 1 0`);
  const lines = corners.map((corner) => `v ${corner}\n`).join('');
  const face = `f ${corners.map((_, k) => k + 1).join(' ')}\n`;
  return text(lines + face.repeat(800));
}

describe('a mesh that is uploaded', () => {
  const body = ball(10, 16);
  test.each([
    ['binary STL', 'stl-binary', binaryStl(body)],
    ['ASCII STL', 'stl-ascii', text(asciiStl(body))],
    ['OBJ', 'obj', text(obj(body))],
    ['3MF', '3mf', threeMf(body)],
  ])('as %s is measured', async (_, format, file) => {
    const web = await webUnderTest();
    const sent = await upload(web, file, 'seed head.xyz');
    expect(sent.status).toBe(200);
    const answer = meshAnswerSchema.parse(JSON.parse(sent.text));
    expect(answer).toMatchObject({
      format,
      fileName: 'seed head.xyz',
      sizeBytes: file.length,
      sha256: createHash('sha256').update(file).digest('hex'),
      unit: format === '3mf' ? 'millimetre' : null,
    });
    expect(answer.measure.area).toBeGreaterThan(1230);
    expect(answer.measure.area).toBeLessThan(4 * Math.PI * 100);
    expect(answer.candidates.map(({ unit }) => unit)).toContain('millimetre');
    expect(answer.preview.segments.length).toBeGreaterThan(0);
  });

  test('larger than any JSON body may be, and in pieces without a length, is measured', async () => {
    const web = await webUnderTest();
    const file = binaryStl(ball(10, 60));
    expect(file.length).toBeGreaterThan(5 * 64 * 1024);
    const sent = await upload(web, file, 'a.stl', { headers: { 'transfer-encoding': 'chunked' } });
    expect(sent.status).toBe(200);
  });

  test('keeps only the last part of its name', async () => {
    const web = await webUnderTest();
    const sent = await upload(web, binaryStl(body), '../../etc/\u202epass\nwd.stl');
    expect(meshAnswerSchema.parse(JSON.parse(sent.text)).fileName).toBe('passwd.stl');
  });
});

describe('a mesh that is refused', () => {
  test('says so with the field, the value and the bound', async () => {
    const web = await webUnderTest();
    const sent = await upload(web, binaryStl(box(1, 1, 1)).subarray(0, 300), 'cut.stl');
    expect(sent.status).toBe(422);
    const problem = problemOf(sent);
    expect(problem.detail).toContain('after triangle 4 of 12');
    expect(problem.problems[0]).toMatchObject({ field: 'file', value: '300 bytes' });
    expect((await upload(web, new Uint8Array(0), 'a.stl')).status).toBe(422);
    expect((await upload(web, text('hello'), 'a.txt')).status).toBe(422);
  });

  test('without a name, or with a strange query, names what is missing', async () => {
    const web = await webUnderTest();
    for (const path of ['/api/meshes', '/api/meshes?fileName=', '/api/meshes?fileName=a&x=1']) {
      expect((await upload(web, binaryStl(box(1, 1, 1)), '', { path })).status).toBe(422);
    }
  });

  test('as JSON, as a form, from elsewhere or without our header is not read', async () => {
    const web = await webUnderTest();
    const file = binaryStl(box(1, 1, 1));
    const statuses = [];
    for (const headers of [
      { 'content-type': 'application/json' },
      { 'content-type': 'multipart/form-data; boundary=x' },
      { 'content-type': 'text/plain' },
      { origin: 'http://example.org' },
      { 'x-nightbath': '0' },
    ]) {
      statuses.push((await upload(web, file, 'a.stl', { headers })).status);
    }
    expect(statuses).toEqual([415, 415, 415, 403, 403]);
  });

  test('of bytes does not widen what other routes take', async () => {
    const web = await webUnderTest();
    const sent = await upload(web, new Uint8Array(10), '', { path: '/api/plans' });
    expect(sent.status).toBe(415);
    const long = await web.ask('POST', '/api/plans', { body: 'x'.repeat(4 * 1024 * 1024) });
    expect(long.status).toBe(413);
  });
});

describe('the bounds', () => {
  test('on the size hold for what comes, whatever was announced', async () => {
    const web = await webUnderTest({ meshLimits: { maxBytes: 100_000 } });
    const announced = await upload(web, new Uint8Array(100_001), 'a.stl');
    expect(announced.status).toBe(413);
    expect(problemOf(announced).problems[0]?.bound).toBe('at most 0.1 MB');
    const chunked = await upload(web, new Uint8Array(100_001), 'a.stl', {
      headers: { 'transfer-encoding': 'chunked' },
    });
    expect(chunked.status).toBe(413);
    // The server serves on.
    expect((await upload(web, binaryStl(box(1, 1, 1)), 'a.stl')).status).toBe(200);
  });

  test('on triangles hold', async () => {
    const web = await webUnderTest({ meshLimits: { maxTriangles: 100 } });
    const sent = await upload(web, binaryStl(ball(1, 8)), 'a.stl');
    expect(sent.status).toBe(422);
    expect(problemOf(sent).problems[0]).toMatchObject({ value: '224', bound: 'at most 100' });
  });

  test('on time end the thread, and the next mesh is measured', async () => {
    const web = await webUnderTest({ meshLimits: { deadlineMs: 1500 } });
    const sent = await upload(web, toil(), 'comb.obj');
    expect(sent.status).toBe(422);
    expect(problemOf(sent).problems[0]).toMatchObject({ field: 'time', bound: 'at most 1.5 s' });
    expect((await upload(web, binaryStl(box(1, 1, 1)), 'a.stl')).status).toBe(200);
  });

  test('do not hold a mesh that nobody waits for any more', async () => {
    const web = await webUnderTest({ meshLimits: { deadlineMs: 60_000, mostUploads: 1 } });
    const file = toil();
    const gone = connect(web.port, '127.0.0.1');
    gone.on('error', () => undefined);
    gone.write(headOf(web, file.length));
    gone.write(file);
    const status = async (): Promise<number> =>
      (await upload(web, binaryStl(box(1, 1, 1)), 'b.stl')).status;
    await expect.poll(status).toBe(503);
    // Longer than the file takes to arrive, and far shorter than it takes to measure.
    await new Promise((resolve) => setTimeout(resolve, 300));
    expect(await status()).toBe(503);
    gone.destroy();
    await expect.poll(status, { timeout: 5_000 }).toBe(200);
  });

  test('on uploads at once turn the next one away, and leave no place taken', async () => {
    const web = await webUnderTest({ meshLimits: { mostUploads: 1 } });
    // A client that announces a mesh and sends only its beginning holds the place.
    const slow = connect(web.port, '127.0.0.1');
    slow.on('error', () => undefined);
    slow.write(`${headOf(web, 100_000)}solid`);
    await expect
      .poll(async () => (await upload(web, binaryStl(box(1, 1, 1)), 'b.stl')).status)
      .toBe(503);
    slow.destroy();
    await expect
      .poll(async () => (await upload(web, binaryStl(box(1, 1, 1)), 'b.stl')).status)
      .toBe(200);
  });

  test('let meshes that come together be measured one after the other', async () => {
    const web = await webUnderTest();
    const files = [box(1, 2, 3), box(2, 2, 2), box(3, 3, 3)].map((one) => binaryStl(one));
    const sent = await Promise.all(files.map((file) => upload(web, file, 'a.stl')));
    expect(sent.map(({ status }) => status)).toEqual([200, 200, 200]);
    const areas = sent.map(({ text: one }) => meshAnswerSchema.parse(JSON.parse(one)).measure.area);
    expect(areas.map(Math.round)).toEqual([22, 24, 54]);
  });
});
