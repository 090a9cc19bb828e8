/** Exports: whole, in slices, one at a time, and given up when nobody takes them. */

import { once } from 'node:events';
import { connect } from 'node:net';
import type { Socket } from 'node:net';
import { join } from 'node:path';
import { describe, expect, onTestFinished, test, vi } from 'vitest';
import { openStoreReader } from '../../daemon/store/door.ts';
import type { StoreReader } from '../../daemon/store/door.ts';
import { ExportDesk } from '../../daemon/web/export-desk.ts';
import { problemDocumentSchema } from '../../daemon/web/problem.ts';
import { runDocumentSchema } from '../../daemon/wire/run-document.ts';
import { openBenchFile } from '../store/bench-file.ts';
import { HandReader, nextBytes, temporaryFolder, webUnderTest } from './fixture.ts';
import type { WebUnderTest } from './fixture.ts';

const csv = '/api/runs/run-1/export.csv';

describe('an export', () => {
  test('as CSV holds a header and every reading', async () => {
    const web = await webUnderTest({ reader: new HandReader(3000) });
    const reply = await web.ask('GET', csv);
    expect(reply.status).toBe(200);
    expect(reply.headers['content-type']).toBe('text/csv; charset=utf-8');
    expect(reply.headers['content-disposition']).toBe('attachment; filename="run-run-1.csv"');
    const lines = reply.text.split('\r\n');
    expect(lines).toHaveLength(3002);
    const [header, first] = lines.map((line) => line.split(','));
    const row = Object.fromEntries(header?.map((name, index) => [name, first?.[index]]) ?? []);
    expect(row).toMatchObject({ elapsed_ms: '0', current_amps: '0.2281', state: 'holding' });
  });

  test('as JSON holds the run with all it recorded', async () => {
    const web = await webUnderTest({ reader: new HandReader(3000) });
    const reply = await web.ask('GET', '/api/runs/run-1/export.json');
    expect(reply.headers['content-type']).toBe('application/json');
    const document = runDocumentSchema.parse(reply.json());
    expect(document.run).toEqual(web.reader.record);
    expect(document.readings).toEqual(web.reader.rows);
    expect(document.events).toHaveLength(1);
  });

  test('asked for by HEAD tells its headers and keeps nobody waiting', async () => {
    const web = await webUnderTest();
    expect((await web.ask('HEAD', csv)).headers['content-type']).toBe('text/csv; charset=utf-8');
    expect((await web.ask('GET', csv)).status).toBe(200);
  });

  test('while another runs is 503 with Retry-After, and works once that one is over', async () => {
    const web = await webUnderTest({ reader: new HandReader(200_000) });
    const first = await startReading(web);
    const refused = await web.ask('GET', csv);
    expect(refused.status).toBe(503);
    expect(refused.headers['retry-after']).toBe('5');
    expect(problemDocumentSchema.parse(refused.json()).detail).toContain('one at a time');
    let received = 0;
    first.on('data', (data) => (received += data.length));
    first.resume();
    await once(first, 'close');
    expect(received).toBeGreaterThan(10_000_000);
    expect((await web.ask('HEAD', csv)).status).toBe(200);
    const second = await startReading(web);
    second.destroy();
  });

  test('whose client goes away makes room for the next', async () => {
    const web = await webUnderTest({ reader: new HandReader(200_000) });
    const first = await startReading(web);
    expect((await web.ask('GET', csv)).status).toBe(503);
    first.destroy();
    await vi.waitFor(async () => {
      const next = await startReading(web);
      next.destroy();
    }, 10_000);
  });

  test('whose client takes nothing is given up', async () => {
    vi.spyOn(console, 'error').mockImplementation(() => undefined);
    onTestFinished(() => void vi.restoreAllMocks());
    const web = await webUnderTest({ reader: new HandReader(200_000), exportStallMs: 80 });
    const first = await startReading(web);
    // The stalled client is cut off: reading on, it finds the end of the line, not of the file.
    await vi.waitFor(async () => {
      const next = await startReading(web);
      next.destroy();
    }, 10_000);
    first.resume();
    await once(first, 'close');
  });

  test('that fails half-way cuts the line, so that half a file is not taken for a whole', async () => {
    vi.spyOn(console, 'error').mockImplementation(() => undefined);
    onTestFinished(() => void vi.restoreAllMocks());
    const reader = new HandReader(20_000);
    const web = await webUnderTest({ reader });
    const all = reader.allReadings.bind(reader);
    reader.allReadings = function* breaking(runId) {
      for (const page of all(runId)) {
        yield page;
        reader.failing = true;
      }
    };
    await expect(web.ask('GET', csv)).rejects.toThrow(/aborted|hang up|ECONNRESET/);
    reader.failing = false;
    reader.allReadings = all;
    expect((await web.ask('GET', csv)).status).toBe(200);
  });

  test('leaves the event loop to others while it runs', { timeout: 60_000 }, async () => {
    const web = await webUnderTest({ reader: new HandReader(200_000) });
    const first = await startReading(web);
    const draining = drain(first);
    // Some 250 slices with a turn for others after each: how fast the machine is does not matter.
    let answers = 0;
    while (!first.destroyed) {
      expect((await web.ask('GET', '/healthz')).status).toBe(200);
      answers += 1;
    }
    await draining;
    expect(answers).toBeGreaterThan(20);
  });
});

describe('slices of an export', () => {
  test('begin a new turn each and are of bounded work', async () => {
    const desk = new ExportDesk();
    const pieces = Array.from({ length: 200 }, (_, index) => `${index};`.padEnd(2000, '.'));
    const stream = desk.stream(pieces.values());
    let turns = 0;
    let counting = true;
    const count = (): void => {
      turns += 1;
      if (counting) setImmediate(count);
    };
    setImmediate(count);
    const slices: number[] = [];
    for await (const slice of stream) slices.push(slice.byteLength);
    expect(slices.reduce((sum, size) => sum + size, 0)).toBe(400_000);
    expect(Math.max(...slices)).toBeLessThan(64 * 1024 + 2000);
    expect(slices.length).toBeGreaterThanOrEqual(6);
    counting = false;
    expect(turns).toBeGreaterThanOrEqual(slices.length - 1);
    expect(desk.busy).toBe(false);
  });

  test('slow pieces are sent after a few milliseconds each', async () => {
    const desk = new ExportDesk();
    const slices: string[] = [];
    for await (const slice of desk.stream(slow())) slices.push(new TextDecoder().decode(slice));
    expect(slices.join('')).toBe('0123456789');
    expect(slices.length).toBeGreaterThanOrEqual(4);
  });
});

test('the same over a real database file', async () => {
  const file = join(temporaryFolder(), 'runs.sqlite');
  const hand = new HandReader(2500);
  const written = openBenchFile(file);
  written.records.createRun(hand.record);
  written.append(hand.record.id, hand.rows);
  const reader: StoreReader = openStoreReader(file);
  onTestFinished(() => reader.close());
  const web = await webUnderTest({ file: reader });
  const id = hand.record.id;
  const reply = await web.ask('GET', `/api/runs/${id}/export.json`);
  const document = runDocumentSchema.parse(reply.json());
  expect(document.run).toEqual(hand.record);
  expect(document.readings).toEqual(hand.rows);
  const text = (await web.ask('GET', `/api/runs/${id}/export.csv`)).text;
  expect(text.split('\r\n')).toHaveLength(2502);
  expect((await web.ask('GET', '/api/runs')).json()).toMatchObject([{ id }]);
  expect((await web.ask('GET', `/api/runs/${id}/readings?limit=5000`)).json()).toEqual(hand.rows);
});

/** Ten pieces that take 5 ms of work each. */
function* slow(): Generator<string> {
  for (let piece = 0; piece < 10; piece += 1) {
    const until = performance.now() + 5;
    while (performance.now() < until);
    yield `${piece}`;
  }
}

/** Begins an export and stops reading after its first bytes; throws unless it was let begin. */
async function startReading(web: WebUnderTest): Promise<Socket> {
  const socket = connect(web.port, '127.0.0.1');
  onTestFinished(() => void socket.destroy());
  socket.on('error', () => undefined);
  socket.write(`GET ${csv} HTTP/1.1\r\nHost: ${web.host}\r\nConnection: close\r\n\r\n`);
  const head = await nextBytes(socket);
  socket.pause();
  if (!head.toString().startsWith('HTTP/1.1 200 ')) {
    socket.destroy();
    throw new Error(head.toString().slice(0, 40));
  }
  return socket;
}

async function drain(socket: Socket): Promise<void> {
  socket.resume();
  await once(socket, 'close');
}
