/** The server itself: where it listens, what it does when the port is taken, and how it ends. */

import { connect } from 'node:net';
import { once } from 'node:events';
import { networkInterfaces } from 'node:os';
import { describe, expect, onTestFinished, test } from 'vitest';
import { AccessList } from '../../daemon/web/guard.ts';
import { PortTakenError, serve } from '../../daemon/web/server.ts';
import {
  errorCode,
  exchange,
  settings,
  takePort,
  webUnderTest,
  writeDashboard,
} from './fixture.ts';

const hasIpv6 = Object.values(networkInterfaces()).some((addresses) =>
  addresses?.some(({ address }) => address === '::1'),
);

describe('the address', () => {
  test('is this machine on IPv4, and on IPv6 exactly where there is one', async () => {
    const web = await webUnderTest();
    expect(web.url).toBe(`http://127.0.0.1:${web.port}`);
    expect(web.addresses).toEqual(hasIpv6 ? ['127.0.0.1', '::1'] : ['127.0.0.1']);
  });

  test('of the network is not listened on', async () => {
    const web = await webUnderTest();
    const outside = Object.values(networkInterfaces())
      .flat()
      .filter((address) => address !== undefined)
      .find(({ internal, family }) => !internal && family === 'IPv4');
    // A machine without a network has no such address; 127.0.0.2 is its own too, and not ours.
    const host = outside?.address ?? '127.0.0.2';
    const socket = connect(web.port, host);
    expect(await errorCode(socket)).toBe('ECONNREFUSED');
  });

  test('that is taken ends in an error that names the port', async () => {
    const port = await takePort('127.0.0.1');
    const start = webUnderTest({ settings: { ...settings, server: { port } } });
    await expect(start).rejects.toThrow(PortTakenError);
    await expect(start).rejects.toThrow(`Port ${port} is taken.`);
  });

  test.runIf(hasIpv6)('that is a stranger’s on IPv6 only counts as taken too', async () => {
    const port = await takePort('::1');
    const start = webUnderTest({ settings: { ...settings, server: { port } } });
    await expect(start).rejects.toThrow(PortTakenError);
    // And the IPv4 half was let go.
    expect(await takePort('127.0.0.1', port)).toBe(port);
  });

  test('may be another of this machine, beside its own', async () => {
    const web = await webUnderTest({
      settings: { ...settings, web: { ...settings.web, listen: ['127.0.0.2'] } },
    });
    expect(web.addresses).toContain('127.0.0.2');
    const text = `GET /healthz HTTP/1.1\r\nHost: 127.0.0.2:${web.port}\r\nConnection: close\r\n\r\n`;
    expect(await exchange(web.port, text, '127.0.0.2')).toMatch(/^HTTP\/1\.1 200 /);
    // Under that name nobody is at the bench itself, from whichever address they come.
    const bench = text.replace('/healthz', '/api/bench');
    expect(await exchange(web.port, bench, '127.0.0.2')).toMatch(/^HTTP\/1\.1 401 /);
  });

  test('in IPv6 is answered in its shortest form, as browsers write it', () => {
    const access = new AccessList();
    access.open(8080, ['2001:DB8:0:0::0020', '0.0.0.0', '::', 'bench.test']);
    expect(access.allowsHost('[2001:db8::20]:8080')).toBe(true);
    expect(access.allowsHost('bench.test:8080')).toBe(true);
    // All addresses are no name: browsers have let foreign pages ask for them.
    expect(access.allowsHost('0.0.0.0:8080')).toBe(false);
    expect(access.allowsHost('[::]:8080')).toBe(false);
    expect(access.namesThisMachine('bench.test:8080')).toBe(false);
    expect(access.namesThisMachine('[::1]:8080')).toBe(true);
    expect(access.allowsOrigin('http://bench.test:8080', 'localhost:8080')).toBe(false);
  });

  test('of all of the network takes the place of the single ones', async () => {
    const web = await webUnderTest({
      settings: {
        ...settings,
        web: { ...settings.web, listen: ['0.0.0.0'], hostNames: ['bench.test'] },
      },
    });
    expect(web.addresses.filter((address) => address.includes('.'))).toEqual(['0.0.0.0']);
    // Over loopback this machine is still this machine.
    expect((await web.ask('GET', '/api/bench')).status).toBe(200);
  });

  test('that the network has not given yet does not keep the page from being served', async () => {
    // 192.0.2.0/24 is for documentation (RFC 5737): no machine has such an address.
    const web = await webUnderTest({
      settings: { ...settings, web: { ...settings.web, listen: ['192.0.2.1'] } },
    });
    expect(web.addresses).not.toContain('192.0.2.1');
    expect((await web.ask('GET', '/healthz')).status).toBe(200);
  });

  test('is known as soon as it listens on the first, whatever keeps the others', async () => {
    const told: string[] = [];
    const server = await serve({
      port: 0,
      // For documentation (RFC 5737): no machine has it.
      others: ['192.0.2.1'],
      opened: (port) => told.push(`opened ${port}`),
      warn: () => told.push('warned'),
      fetch: () => new Response('here'),
      upgrade: (_request, socket) => socket.destroy(),
    });
    onTestFinished(() => server.close());
    expect(told).toEqual([`opened ${server.port}`, 'warned']);
  });

  test('may be chosen by the system', async () => {
    const server = await serve({
      port: 0,
      fetch: () => new Response('here'),
      upgrade: (_request, socket) => socket.destroy(),
    });
    onTestFinished(() => server.close());
    expect(server.port).toBeGreaterThan(1023);
  });
});

describe('closing', () => {
  test('ends within two seconds although a client keeps its connection', async () => {
    const web = await webUnderTest();
    const idle = connect(web.port, '127.0.0.1');
    const half = connect(web.port, '127.0.0.1');
    idle.on('error', () => undefined);
    half.on('error', () => undefined);
    half.write(`POST /api/plans HTTP/1.1\r\nHost: ${web.host}\r\nContent-Length: 10\r\n\r\n{`);
    await once(half, 'ready').catch(() => undefined);
    const began = performance.now();
    await web.close();
    expect(performance.now() - began).toBeLessThan(2000);
    const late = connect(web.port, '127.0.0.1');
    expect(await errorCode(late)).toBe('ECONNREFUSED');
  });
});

describe('garbage on the line', () => {
  test.each([
    ['nonsense', 'hello\r\n\r\n'],
    ['TLS', '\u0016\u0003\u0001\u0002\u0000\u0001\r\n\r\n'],
    ['CONNECT', 'CONNECT 127.0.0.1:22 HTTP/1.1\r\nHost: x\r\n\r\n'],
    ['headers of 100 kB', `GET / HTTP/1.1\r\nHost: x\r\nA: ${'x'.repeat(100_000)}\r\n\r\n`],
  ])('%s is dropped, and the next request is served', async (_name, text) => {
    const web = await webUnderTest();
    const reply = await exchange(web.port, text).catch(() => '');
    expect(reply).toMatch(/^(HTTP\/1\.1 4\d\d [\s\S]*)?$/);
    expect((await web.ask('GET', '/healthz')).status).toBe(200);
  });
});

describe('the dashboard', () => {
  test('is served with its page for every path that names no file', async () => {
    const web = await webUnderTest();
    writeDashboard(web.dashboardFolder);
    for (const path of ['/', '/run/run-1', '/log', '/index.html']) {
      const reply = await web.ask('GET', path);
      expect(reply.status, path).toBe(200);
      expect(reply.headers['content-type'], path).toMatch(/^text\/html/);
      expect(reply.headers['cache-control'], path).toBe('no-store');
      expect(reply.text, path).toContain('<title>Nightbath</title>');
    }
    expect((await web.ask('GET', '/missing.js')).status).toBe(404);
    expect((await web.ask('GET', '/api/missing')).status).toBe(404);
  });

  test('lets files with a hash in their name be kept, and no others', async () => {
    const web = await webUnderTest();
    writeDashboard(web.dashboardFolder);
    const hashed = await web.ask('GET', '/assets/page-BcD3_f-9.js');
    expect(hashed.status).toBe(200);
    expect(hashed.headers['content-type']).toMatch(/javascript/);
    expect(hashed.headers['cache-control']).toBe('public, max-age=31536000, immutable');
    expect((await web.ask('GET', '/favicon.svg')).headers['cache-control']).toBe('no-store');
    const missing = await web.ask('GET', '/assets/page-AAAAAAAA.js');
    expect([missing.status, missing.headers['cache-control']]).toEqual([404, 'no-store']);
  });

  test('that was not built says how to build it', async () => {
    const web = await webUnderTest();
    const reply = await web.ask('GET', '/');
    expect(reply.status).toBe(503);
    expect(reply.text).toContain('npm run build:dashboard');
    expect((await web.ask('GET', '/api/bench')).status).toBe(200);
  });
});
