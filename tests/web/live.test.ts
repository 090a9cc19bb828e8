/** The live socket over real connections: what it says, whom it refuses, and whom it drops. */

import { once } from 'node:events';
import { connect } from 'node:net';
import type { Socket } from 'node:net';
import { randomBytes } from 'node:crypto';
import { describe, expect, onTestFinished, test, vi } from 'vitest';
import { WebSocket } from 'ws';
import type { ClientOptions } from 'ws';
import { liveMessageSchema } from '../../daemon/wire/bench.ts';
import type { LiveMessage } from '../../daemon/wire/bench.ts';
import {
  alarm,
  eventRow,
  exchange,
  nextBytes,
  startWallMs,
  tankSnapshot,
  webUnderTest,
} from './fixture.ts';
import type { WebUnderTest } from './fixture.ts';

/** Of a busy machine a message may want longer than the second that is given by default. */
const patient = { timeout: 15_000 };

interface Page {
  readonly socket: WebSocket;
  readonly messages: LiveMessage[];
  /** The next message that fits, or the first one that has come already. */
  until(fits: (message: LiveMessage) => boolean): Promise<LiveMessage>;
}

/** A page's socket; every message it gets is held against the schema. */
async function open(web: WebUnderTest, options: ClientOptions = {}): Promise<Page> {
  const socket = new WebSocket(`ws://${web.host}/api/live`, {
    origin: `http://${web.host}`,
    ...options,
  });
  onTestFinished(() => socket.terminate());
  const messages: LiveMessage[] = [];
  socket.on('message', (data: Buffer) => {
    messages.push(liveMessageSchema.parse(JSON.parse(data.toString())));
  });
  await once(socket, 'open');
  const until = (fits: (message: LiveMessage) => boolean): Promise<LiveMessage> =>
    vi.waitFor(() => {
      const found = messages.find(fits);
      if (found === undefined) throw new Error('No such message came.');
      return found;
    }, patient);
  return { socket, messages, until };
}

/** The status with which an upgrade was refused. */
function refusal(web: WebUnderTest, options: ClientOptions, path = '/api/live'): Promise<number> {
  return new Promise((resolve, reject) => {
    const socket = new WebSocket(`ws://${web.host}${path}`, options);
    socket.on('unexpected-response', (_request, response) => {
      response.resume();
      resolve(response.statusCode ?? 0);
      socket.on('error', () => undefined);
      socket.terminate();
    });
    socket.on('open', () => reject(new Error('It was let in.')));
  });
}

function closing(socket: WebSocket): Promise<number> {
  return new Promise((resolve) => socket.once('close', (code) => resolve(code)));
}

describe('a page on the live socket', () => {
  test('gets the whole bench first, then what changes', async () => {
    const web = await webUnderTest();
    const page = await open(web);
    const first = await page.until(() => true);
    expect(first).toMatchObject({ type: 'bench', bench: { controlAlive: true } });
    web.control.push({ type: 'tank', tank: tankSnapshot({ output: 'on' }) });
    web.control.push({ type: 'event', event: eventRow() });
    web.control.push({ type: 'alarm', alarm: alarm() });
    await page.until(({ type }) => type === 'alarm');
    expect(page.messages.slice(1)).toMatchObject([
      { type: 'tank', sequence: 1, tank: { output: 'on' } },
      { type: 'event', event: eventRow() },
      { type: 'alarm', alarm: alarm() },
    ]);
  });

  test('hears that control is away and back, then the bench as it is now', async () => {
    const web = await webUnderTest();
    const page = await open(web);
    web.control.turn(false);
    await page.until((message) => message.type === 'control' && !message.alive);
    web.control.tanks = [tankSnapshot({ output: 'unknown' })];
    web.control.turn(true);
    await page.until(
      (message) => message.type === 'bench' && message.bench.tanks[0]?.output === 'unknown',
    );
    expect(page.messages.filter(({ type }) => type === 'control')).toMatchObject([
      { alive: false },
      { alive: true },
    ]);
  });

  test('gets at most ten messages a second about a tank, the last of them the latest', async () => {
    const web = await webUnderTest();
    const page = await open(web);
    await page.until(() => true);
    const began = performance.now();
    for (let step = 1; step <= 60; step += 1) {
      web.control.push({ type: 'tank', tank: tankSnapshot({ wallMs: startWallMs + step }) });
      await new Promise((resolve) => setTimeout(resolve, 5));
    }
    await page.until(
      (message) => message.type === 'tank' && message.tank.wallMs === startWallMs + 60,
    );
    const tanks = page.messages.filter(({ type }) => type === 'tank');
    const elapsedMs = performance.now() - began;
    expect(tanks.length).toBeLessThanOrEqual(elapsedMs / 100 + 2);
    expect(tanks.length).toBeGreaterThanOrEqual(2);
    const sequences = tanks.map((message) => (message.type === 'tank' ? message.sequence : 0));
    expect(sequences).toEqual(tanks.map((_, index) => index + 1));
  });

  test('two tanks do not take each other’s turns', async () => {
    const web = await webUnderTest();
    const page = await open(web);
    web.control.push({ type: 'tank', tank: tankSnapshot() });
    web.control.push({ type: 'tank', tank: tankSnapshot({ id: 'sink' }) });
    await page.until((message) => message.type === 'tank' && message.tank.id === 'sink');
    await page.until((message) => message.type === 'tank' && message.tank.id === 'beaker');
  });

  test('shares one text with all other pages', async () => {
    const web = await webUnderTest();
    const pages = await Promise.all(Array.from({ length: 8 }, () => open(web)));
    const stringify = vi.spyOn(JSON, 'stringify');
    onTestFinished(() => stringify.mockRestore());
    web.control.push({ type: 'event', event: eventRow() });
    const calls = stringify.mock.calls.length;
    await Promise.all(pages.map((page) => page.until(({ type }) => type === 'event')));
    expect(calls).toBe(1);
  });

  test('is told when the server stops', async () => {
    const web = await webUnderTest();
    const page = await open(web);
    const code = closing(page.socket);
    await web.close();
    expect(await code).toBe(1001);
  });

  test('is not compressed, however much the page would like it', async () => {
    const web = await webUnderTest();
    const page = await open(web, { perMessageDeflate: true });
    expect(page.socket.extensions).toBe('');
  });
});

describe('a page that talks', () => {
  test.each([
    ['text', 'stop'],
    ['JSON that looks like a command', '{"kind":"stop","tankId":"beaker"}'],
    ['nothing', ''],
    ['bytes', Buffer.from([0, 1, 2])],
  ])('in %s is closed with 1008 and not obeyed', async (_name, message) => {
    const web = await webUnderTest();
    const page = await open(web);
    page.socket.send(message);
    expect(await closing(page.socket)).toBe(1008);
    expect(web.control.sent).toEqual([]);
  });

  test('in 1 MB is closed with 1009', async () => {
    const web = await webUnderTest();
    const page = await open(web);
    page.socket.on('error', () => undefined);
    page.socket.send('x'.repeat(1024 * 1024));
    expect(await closing(page.socket)).toBe(1009);
    await vi.waitFor(() => expect(web.hub.clients).toBe(0), patient);
  });

  test.each([
    [16 * 1024, 1008],
    [16 * 1024 + 1, 1009],
  ])(
    'in %i bytes is closed with %i: more than 16 KiB are not even taken in',
    async (size, code) => {
      const web = await webUnderTest();
      const page = await open(web);
      page.socket.on('error', () => undefined);
      page.socket.send('x'.repeat(size));
      expect(await closing(page.socket)).toBe(code);
    },
  );

  test('in frames that are none is closed, and the server goes on', async () => {
    const web = await webUnderTest();
    const socket = await rawPage(web);
    socket.write(randomBytes(4096));
    await once(socket, 'close');
    await vi.waitFor(() => expect(web.hub.clients).toBe(0), patient);
    await (await open(web)).until(({ type }) => type === 'bench');
  });

  test('only by ping stays', async () => {
    const web = await webUnderTest();
    const page = await open(web);
    page.socket.ping('are you there');
    await once(page.socket, 'pong');
    expect(page.socket.readyState).toBe(WebSocket.OPEN);
  });
});

describe('an upgrade that is not our page’s own', () => {
  test.each([
    ['a foreign origin', { origin: 'https://evil.example' }, 403],
    ['an origin on another port', { origin: 'http://127.0.0.1:1' }, 403],
    ['no origin', {}, 403],
    ['the origin null', { origin: 'null' }, 403],
  ])('%s is refused', async (_name, options, status) => {
    const web = await webUnderTest();
    expect(await refusal(web, options)).toBe(status);
    expect(web.hub.clients).toBe(0);
  });

  test('a rebound host is refused even with its own origin', async () => {
    const web = await webUnderTest();
    const host = `bench.example:${web.port}`;
    const options = { origin: `http://${host}`, headers: { host } };
    expect(await refusal(web, options)).toBe(403);
  });

  test('a request that the browser marks as cross-site is refused', async () => {
    const web = await webUnderTest();
    const headers = { 'sec-fetch-site': 'cross-site' };
    expect(await refusal(web, { origin: `http://${web.host}`, headers })).toBe(403);
  });

  test('another path is not found', async () => {
    const web = await webUnderTest();
    const options = { origin: `http://${web.host}` };
    expect(await refusal(web, options, '/api/bench')).toBe(404);
    expect(await refusal(web, options, '/api/live/')).toBe(404);
  });

  test.each([
    ['another protocol', 'Upgrade: h2c\r\nConnection: Upgrade\r\n'],
    ['a WebSocket without its key', 'Upgrade: websocket\r\nConnection: Upgrade\r\n'],
    [
      'a WebSocket of another version',
      'Upgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Version: 7\r\n' +
        'Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n',
    ],
  ])('%s is answered with 400', async (_name, lines) => {
    const web = await webUnderTest();
    const origin = `Origin: http://${web.host}\r\n`;
    const text = `GET /api/live HTTP/1.1\r\nHost: ${web.host}\r\n${origin}${lines}\r\n`;
    expect(await exchange(web.port, text)).toMatch(/^HTTP\/1\.1 400 /);
  });

  test('two origins, of which one is ours, are refused', async () => {
    const web = await webUnderTest();
    const origins = `Origin: http://${web.host}\r\nOrigin: https://evil.example\r\n`;
    const text =
      `GET /api/live HTTP/1.1\r\nHost: ${web.host}\r\n${origins}Upgrade: websocket\r\n` +
      'Connection: Upgrade\r\nSec-WebSocket-Version: 13\r\n' +
      'Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n';
    expect(await exchange(web.port, text)).toMatch(/^HTTP\/1\.1 403 /);
  });

  test('a socket reset in mid-handshake does no harm', async () => {
    const web = await webUnderTest();
    for (let time = 0; time < 20; time += 1) {
      const socket = connect(web.port, '127.0.0.1');
      await once(socket, 'connect');
      socket.write(`GET /api/live HTTP/1.1\r\nHost: x\r\nUpgrade: websocket\r\n`);
      socket.write('Connection: Upgrade\r\n\r\n');
      socket.resetAndDestroy();
    }
    await (await open(web)).until(({ type }) => type === 'bench');
  });
});

describe('too much for the live socket', () => {
  test('the fifty-first page is refused with 503, and let in once another has gone', async () => {
    const web = await webUnderTest();
    const pages = await Promise.all(Array.from({ length: 50 }, () => open(web)));
    const options = { origin: `http://${web.host}` };
    expect(await refusal(web, options)).toBe(503);
    expect(web.hub.clients).toBe(50);
    pages[0]?.socket.close();
    await vi.waitFor(() => expect(web.hub.clients).toBe(49), patient);
    await open(web);
  });

  test('a page that reads nothing is dropped at 1 MiB of backlog, the others hear on', async () => {
    const web = await webUnderTest();
    const brisk = await open(web);
    const slow = await rawPage(web);
    slow.pause();
    const message = 'x'.repeat(200_000);
    let pushed = 0;
    // The system's own buffers fill first; 200 of these are 40 MB, far beyond them.
    while (web.hub.clients === 2 && pushed < 200) {
      web.control.push({ type: 'event', event: { ...eventRow(), id: pushed, message } });
      pushed += 1;
      await new Promise((resolve) => setImmediate(resolve));
    }
    expect(web.hub.clients).toBe(1);
    expect(pushed).toBeGreaterThan(5);
    await brisk.until((heard) => heard.type === 'event' && heard.event.id === pushed - 1);
    expect(brisk.messages.filter(({ type }) => type === 'event')).toHaveLength(pushed);
  });

  test('a page that does not answer pings is dropped, one that does stays', async () => {
    const web = await webUnderTest({ liveLimits: { pingMs: 60 } });
    const alive = await open(web);
    const dead = await open(web, { autoPong: false });
    await once(dead.socket, 'close');
    await new Promise((resolve) => setTimeout(resolve, 150));
    expect(alive.socket.readyState).toBe(WebSocket.OPEN);
  });
});

/** A page by hand, after its handshake: no library in the way of what it sends or fails to read. */
async function rawPage(web: WebUnderTest): Promise<Socket> {
  const socket = connect(web.port, '127.0.0.1');
  onTestFinished(() => void socket.destroy());
  socket.on('error', () => undefined);
  socket.write(
    `GET /api/live HTTP/1.1\r\nHost: ${web.host}\r\nOrigin: http://${web.host}\r\n` +
      'Upgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Version: 13\r\n' +
      'Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n',
  );
  const head = await nextBytes(socket);
  expect(head.toString()).toMatch(/^HTTP\/1\.1 101 /);
  return socket;
}
