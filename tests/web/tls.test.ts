/** The page over https: both listeners, the live socket, the cookie, and plain http to its port. */

import { once } from 'node:events';
import { createServer, request } from 'node:https';
import type { IncomingHttpHeaders, OutgoingHttpHeaders } from 'node:http';
import { connect } from 'node:net';
import type { AddressInfo, Socket } from 'node:net';
import { connect as connectTls } from 'node:tls';
import { describe, expect, onTestFinished, test } from 'vitest';
import { WebSocket } from 'ws';
import { tlsFront } from '../../daemon/web/tls-front.ts';
import { certificate } from './certificate.ts';
import { exchange, settings } from './fixture.ts';
import { guardedWeb, otherName, passphrases } from './sign-in.ts';
import type { GuardedWeb } from './sign-in.ts';

const tls = certificate(otherName);

function secureWeb(hstsDays = 0): Promise<GuardedWeb> {
  const files = { certFile: '/bench.pem', keyFile: '/bench.key', hstsDays };
  return guardedWeb({
    tls,
    settings: { ...settings, web: { ...settings.web, hostNames: [otherName], tls: files } },
  });
}

interface SecureReply {
  readonly status: number;
  readonly headers: IncomingHttpHeaders;
  readonly text: string;
}

/** A browser that trusts this certificate and found the name at an address of this machine. */
function ask(
  web: GuardedWeb,
  method: string,
  path: string,
  more: { address?: string; body?: unknown; headers?: OutgoingHttpHeaders } = {},
): Promise<SecureReply> {
  const { address = '127.0.0.1', body, headers = {} } = more;
  const own = method === 'GET' ? {} : { origin: `https://${web.name}`, 'x-nightbath': '1' };
  return new Promise((resolve, reject) => {
    const sent = request(
      {
        host: address,
        servername: otherName,
        port: web.port,
        method,
        path,
        ca: tls.cert,
        agent: false,
        headers: { host: web.name, 'content-type': 'application/json', ...own, ...headers },
      },
      (response) => {
        let text = '';
        response.on('data', (data: Buffer) => (text += data.toString()));
        response.on('end', () =>
          resolve({ status: response.statusCode ?? 0, headers: response.headers, text }),
        );
      },
    );
    sent.on('error', reject);
    sent.end(body === undefined ? undefined : JSON.stringify(body));
  });
}

describe('over https', () => {
  test('the page is served on both listeners, with a policy for a secure live socket', async () => {
    const web = await secureWeb();
    expect(web.url).toBe(`https://127.0.0.1:${web.port}`);
    for (const address of web.addresses) {
      const reply = await ask(web, 'GET', '/healthz', { address });
      expect(reply.status, address).toBe(200);
      expect(reply.headers['content-security-policy']).toContain(` wss://${web.name};`);
      expect(reply.headers['strict-transport-security']).toBeUndefined();
    }
  });

  test('a session’s cookie is Secure and under a name that no other host can set', async () => {
    const web = await secureWeb();
    const body = { passphrase: passphrases.view };
    const reply = await ask(web, 'POST', '/api/session', { body });
    expect(reply.status).toBe(200);
    const [cookie = ''] = reply.headers['set-cookie'] ?? [];
    expect(cookie).toMatch(/^__Host-nightbath=[A-Za-z0-9_-]{43}; /);
    expect(cookie.split('; ').slice(1).toSorted()).toEqual([
      'HttpOnly',
      'Max-Age=604800',
      'Path=/',
      'SameSite=Strict',
      'Secure',
    ]);
    const [pair = ''] = cookie.split(';');
    expect((await ask(web, 'GET', '/api/bench', { headers: { cookie: pair } })).status).toBe(200);
    // The name that plain http uses opens nothing here: any host could have set it.
    const plain = pair.replace('__Host-', '');
    expect((await ask(web, 'GET', '/api/bench', { headers: { cookie: plain } })).status).toBe(401);
    const trusting = { ca: tls.cert, servername: otherName };
    const socket = new WebSocket(`wss://127.0.0.1:${web.port}/api/live`, {
      ...trusting,
      origin: `https://${web.name}`,
      headers: { host: web.name, cookie: pair },
    });
    const [message] = (await once(socket, 'message')) as [Buffer];
    expect(message.toString()).toContain('"type":"bench"');
    socket.terminate();
  });

  test('an origin of plain http is foreign', async () => {
    const web = await secureWeb();
    const headers = { origin: `http://${web.name}` };
    const body = { passphrase: passphrases.view };
    expect((await ask(web, 'POST', '/api/session', { body, headers })).status).toBe(403);
  });

  test('HSTS is sent for as long as the settings say, and not otherwise', async () => {
    const reply = await ask(await secureWeb(30), 'GET', '/healthz');
    expect(reply.headers['strict-transport-security']).toBe('max-age=2592000');
  });

  test.each([
    ['a request', 'GET / HTTP/1.1\r\nHost: bench.test\r\n\r\n'],
    [
      'a change',
      'POST /api/tanks/beaker/stop HTTP/1.1\r\nHost: bench.test\r\nContent-Length: 2\r\n\r\n{}',
    ],
  ])('plain http to its port, %s, is told so and not obeyed', async (_what, text) => {
    const web = await secureWeb();
    const reply = await exchange(web.port, text);
    expect(reply).toMatch(/^HTTP\/1\.1 426 /);
    expect(reply).toContain('This port speaks https only');
    expect(reply).not.toMatch(/location:/i);
    expect(web.control.sent).toEqual([]);
  });

  test('TLS 1.1 is refused', async () => {
    const web = await secureWeb();
    const socket = connectTls({
      port: web.port,
      host: '127.0.0.1',
      servername: otherName,
      ca: tls.cert,
      minVersion: 'TLSv1.1',
      maxVersion: 'TLSv1.1',
      ciphers: 'DEFAULT@SECLEVEL=0',
    });
    const [error] = (await once(socket, 'error')) as [NodeJS.ErrnoException];
    expect(error.message).toMatch(/alert protocol version|unsupported protocol/i);
  });

  test('connections that say nothing, or half a handshake, do not keep it from ending', async () => {
    const web = await secureWeb();
    const silent = connect(web.port, '127.0.0.1');
    const half = connect(web.port, '127.0.0.1', () => half.write(Buffer.from([22, 3, 1])));
    for (const socket of [silent, half]) socket.on('error', () => undefined);
    await once(half, 'connect');
    await new Promise((resolve) => setTimeout(resolve, 50));
    const began = performance.now();
    await web.close();
    expect(performance.now() - began).toBeLessThan(5000);
  });
});

describe('a connection over TLS that keeps others waiting', () => {
  const patient = 60_000;

  /** The front with a server behind it that answers "ok" and upgrades to silence. */
  async function frontUnderTest(withinMs: number, overdueMs: number): Promise<number> {
    const limits = { headersTimeout: overdueMs, requestTimeout: overdueMs };
    const rules = { connectionsCheckingInterval: 50, handshakeTimeout: patient };
    const secure = createServer({ ...tls, ...limits, ...rules }, (_request, response) => {
      response.end('ok');
    });
    secure.keepAliveTimeout = patient;
    secure.on('upgrade', (_request, socket) => {
      socket.on('error', () => undefined);
      socket.write('HTTP/1.1 101 Switching Protocols\r\n\r\n');
    });
    const { listener, cut } = tlsFront(secure, withinMs);
    listener.listen(0, '127.0.0.1');
    await once(listener, 'listening');
    onTestFinished(async () => {
      cut();
      listener.close();
      await once(listener, 'close');
    });
    return (listener.address() as AddressInfo).port;
  }

  function quiet<Kind extends Socket>(socket: Kind): Kind {
    socket.on('error', () => undefined);
    socket.resume();
    onTestFinished(() => void socket.destroy());
    return socket;
  }

  const plainTo = (port: number, text: string | Buffer): Socket => {
    const socket = quiet(connect(port, '127.0.0.1'));
    if (text.length > 0) socket.write(text);
    return socket;
  };
  const secureTo = (port: number, text: string): Socket => {
    const trusting = { host: '127.0.0.1', servername: otherName, ca: tls.cert };
    const socket = quiet(connectTls({ port, ...trusting }));
    if (text !== '') socket.once('secureConnect', () => socket.write(text));
    return socket;
  };
  const half = 'GET / HTTP/1.1\r\nHost: bench.test\r\n';

  test.each<[string, (port: number) => Socket]>([
    ['silence', (port) => plainTo(port, '')],
    ['half a handshake', (port) => plainTo(port, Buffer.from([22, 3, 1]))],
    ['half a plain header', (port) => plainTo(port, half)],
    ['a handshake and silence', (port) => secureTo(port, '')],
    ['a handshake and half a header', (port) => secureTo(port, half)],
  ])('by %s is cut', async (_what, open) => {
    const socket = open(await frontUnderTest(300, patient));
    await once(socket, 'close', { signal: AbortSignal.timeout(8000) });
  });

  test('by a handshake that drips in is cut: a byte now and then buys no time', async () => {
    const socket = plainTo(await frontUnderTest(600, patient), Buffer.from([22, 3, 1, 2, 0, 1]));
    const drip = setInterval(() => socket.write(Buffer.from([0])), 100);
    onTestFinished(() => clearInterval(drip));
    // A byte that meets the cut may come back as a reset, which is a cut as well.
    socket.on('error', () => undefined);
    await expect.poll(() => socket.closed, { timeout: 8000 }).toBe(true);
  });

  test('by half a header after a request that was well is cut by the server itself', async () => {
    const socket = secureTo(await frontUnderTest(patient, 1500), `${half}\r\n`);
    await once(socket, 'data');
    socket.write(half);
    await once(socket, 'close', { signal: AbortSignal.timeout(8000) });
  });

  test('stays open once it has asked for something, as the live socket does', async () => {
    const port = await frontUnderTest(2000, patient);
    const upgrade = `${half}Connection: Upgrade\r\nUpgrade: websocket\r\n\r\n`;
    const sockets = [secureTo(port, `${half}\r\n`), secureTo(port, upgrade)];
    await Promise.all(sockets.map((socket) => once(socket, 'data')));
    await new Promise((resolve) => setTimeout(resolve, 2500));
    expect(sockets.map(({ readyState }) => readyState)).toEqual(['open', 'open']);
  });
});
