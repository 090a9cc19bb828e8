/** Requests that a foreign page, a rebound name or a broken client may send: all are refused. */

import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, test } from 'vitest';
import { exchange, temporaryFolder, webUnderTest, writeDashboard } from './fixture.ts';
import type { AskOptions, WebUnderTest } from './fixture.ts';

const stop = '/api/tanks/beaker/stop';
const start = '/api/tanks/beaker/start';

interface Attack {
  readonly name: string;
  readonly method?: string;
  readonly path?: string;
  readonly status: number;
  readonly more: (web: WebUnderTest) => AskOptions;
}

const attacks: readonly Attack[] = [
  {
    name: 'a read under a rebound host name',
    method: 'GET',
    path: '/api/bench',
    status: 403,
    more: (web) => ({ headers: { host: `bench.example:${web.port}` } }),
  },
  {
    name: 'a change under a rebound host name with the origin to match',
    status: 403,
    more: (web) => ({
      headers: {
        host: `bench.example:${web.port}`,
        origin: `http://bench.example:${web.port}`,
      },
    }),
  },
  {
    name: 'the right host name with another port',
    method: 'GET',
    path: '/api/bench',
    status: 403,
    more: () => ({ headers: { host: '127.0.0.1:1' } }),
  },
  {
    name: 'the right address without its port',
    method: 'GET',
    path: '/api/bench',
    status: 403,
    more: () => ({ headers: { host: '127.0.0.1' } }),
  },
  {
    name: 'a host that begins like ours',
    method: 'GET',
    path: '/api/bench',
    status: 403,
    more: (web) => ({ headers: { host: `127.0.0.1.nip.example:${web.port}` } }),
  },
  {
    name: 'another number for the same address',
    method: 'GET',
    path: '/api/bench',
    status: 403,
    more: (web) => ({ headers: { host: `2130706433:${web.port}` } }),
  },
  {
    name: 'a host with a user name before it',
    method: 'GET',
    path: '/api/bench',
    status: 400,
    more: (web) => ({ headers: { host: `localhost@evil.example:${web.port}` } }),
  },
  {
    name: 'the page itself under a rebound host name',
    method: 'GET',
    path: '/',
    status: 403,
    more: (web) => ({ headers: { host: `bench.example:${web.port}` } }),
  },
  {
    name: 'a change from a foreign origin',
    status: 403,
    more: () => ({ headers: { origin: 'https://evil.example' } }),
  },
  {
    name: 'a change from a page on another port of this machine',
    status: 403,
    more: () => ({ headers: { origin: 'http://127.0.0.1:3000' } }),
  },
  {
    name: 'a change from the same name over https',
    status: 403,
    more: (web) => ({ headers: { origin: `https://127.0.0.1:${web.port}` } }),
  },
  {
    name: 'a change from a sandboxed frame, whose origin is null',
    status: 403,
    more: () => ({ headers: { origin: 'null' } }),
  },
  {
    name: 'a change without an origin',
    status: 403,
    more: () => ({ headers: { origin: null } }),
  },
  {
    name: 'a change without the header that only our page sends',
    status: 403,
    more: () => ({ headers: { 'x-nightbath': null } }),
  },
  {
    name: 'a change that the browser marks as cross-site',
    status: 403,
    more: () => ({ headers: { 'sec-fetch-site': 'cross-site' } }),
  },
  {
    name: 'a read of the API that the browser marks as cross-site',
    method: 'GET',
    path: '/api/bench',
    status: 403,
    more: () => ({ headers: { 'sec-fetch-site': 'cross-site', 'sec-fetch-mode': 'no-cors' } }),
  },
  {
    name: 'a link to the API from another site',
    method: 'GET',
    path: '/api/runs/run-1/export.csv',
    status: 403,
    more: () => ({
      headers: {
        'sec-fetch-site': 'cross-site',
        'sec-fetch-mode': 'navigate',
        'sec-fetch-dest': 'document',
      },
    }),
  },
  {
    name: 'our page in a frame of another site',
    method: 'GET',
    path: '/',
    status: 403,
    more: () => ({
      headers: {
        'sec-fetch-site': 'cross-site',
        'sec-fetch-mode': 'navigate',
        'sec-fetch-dest': 'iframe',
      },
    }),
  },
  {
    name: 'a read with a foreign origin',
    method: 'GET',
    path: '/api/bench',
    status: 403,
    more: () => ({ headers: { origin: 'https://evil.example' } }),
  },
  {
    name: 'a form sent as text/plain',
    status: 415,
    more: () => ({ headers: { 'content-type': 'text/plain' }, body: '{}' }),
  },
  {
    name: 'a form sent as a form',
    status: 415,
    more: () => ({
      headers: { 'content-type': 'application/x-www-form-urlencoded' },
      body: 'a=1',
    }),
  },
  {
    name: 'JSON in another alphabet',
    status: 415,
    more: () => ({ headers: { 'content-type': 'application/json; charset=utf-7' }, body: '{}' }),
  },
  {
    name: 'a body without a type',
    status: 415,
    more: () => ({ headers: { 'content-type': null } }),
  },
  {
    name: 'a question before a cross-site request',
    method: 'OPTIONS',
    status: 405,
    more: () => ({ headers: { 'access-control-request-method': 'POST' } }),
  },
  { name: 'TRACE', method: 'TRACE', path: '/api/bench', status: 405, more: () => ({}) },
  { name: 'PUT', method: 'PUT', path: '/api/settings', status: 405, more: () => ({}) },
  { name: 'DELETE', method: 'DELETE', path: '/api/runs/run-1', status: 405, more: () => ({}) },
  { name: 'a stop by GET', method: 'GET', path: stop, status: 405, more: () => ({}) },
  {
    name: 'a body of 1 MB',
    path: '/api/plans',
    status: 413,
    more: () => ({ body: `"${'x'.repeat(1024 * 1024)}"` }),
  },
  {
    name: 'a body of 1 MB that does not announce its length',
    path: '/api/plans',
    status: 413,
    more: () => ({
      headers: { 'transfer-encoding': 'chunked' },
      body: `"${'x'.repeat(1024 * 1024)}"`,
    }),
  },
  {
    name: 'a body of one byte more than 64 KiB',
    path: start,
    status: 413,
    more: () => ({ body: `"${'x'.repeat(64 * 1024 - 1)}"` }),
  },
  {
    name: 'a body of 64 KiB, which is read, and is no start',
    path: start,
    status: 422,
    more: () => ({ body: `"${'x'.repeat(64 * 1024 - 2)}"` }),
  },
  {
    name: 'a body that is not JSON',
    path: '/api/plans',
    status: 400,
    more: () => ({ body: '{"piece":' }),
  },
  { name: 'an empty body', path: '/api/plans', status: 400, more: () => ({ body: '' }) },
  {
    name: 'a body with a prototype key at the top',
    path: '/api/tanks/beaker/demo',
    status: 400,
    more: () => ({ body: '{"__proto__":{"maxAmps":1000}}' }),
  },
  {
    name: 'a body with a prototype key deep inside',
    path: '/api/plans',
    status: 400,
    more: () => ({ body: '{"piece":{"parts":[{"sizes":{"__proto__":1}}]}}' }),
  },
  {
    name: 'a body with a constructor key',
    path: '/api/plans',
    status: 400,
    more: () => ({ body: '{"constructor":{"prototype":{"x":1}}}' }),
  },
  {
    name: 'a body with a value that cannot be compared',
    path: '/api/pieces/piece-1/duplicate',
    status: 400,
    more: () => ({ body: '{"name":{"length":{"toString":1}}}' }),
  },
  {
    name: 'a body nested ten thousand times',
    path: '/api/plans',
    status: 400,
    more: () => ({ body: `${'['.repeat(10_000)}${']'.repeat(10_000)}` }),
  },
  {
    name: 'a list where an object belongs',
    path: start,
    status: 422,
    more: () => ({ body: [] }),
  },
  {
    name: 'a query with a prototype key',
    method: 'GET',
    path: '/api/runs?__proto__=1',
    status: 422,
    more: () => ({}),
  },
  {
    name: 'a run whose name climbs folders',
    method: 'GET',
    path: '/api/runs/..%2f..%2fsecret',
    status: 404,
    more: () => ({}),
  },
];

afterAll(() => console.log(`${attacks.length} requests that are not our page’s own were tried.`));

describe('a request that is not our page’s own', () => {
  test.each(attacks)('$name is refused', async ({ method = 'POST', path = stop, status, more }) => {
    const web = await webUnderTest();
    const reply = await web.ask(method, path, more(web));
    expect(reply.status).toBe(status);
    expect(reply.headers['content-type']).toBe('application/problem+json');
    expect(reply.headers['access-control-allow-origin']).toBeUndefined();
    expect(web.control.sent).toEqual([]);
  });

  test('the same stop without any of these is obeyed, so the refusals mean something', async () => {
    const web = await webUnderTest();
    expect((await web.ask('POST', stop, { body: {} })).status).toBe(200);
    expect(web.control.sent).toHaveLength(1);
  });

  test('all three names of this machine are accepted, each with its own origin', async () => {
    const web = await webUnderTest();
    for (const name of ['127.0.0.1', 'localhost', '[::1]']) {
      const host = `${name}:${web.port}`;
      const reply = await web.ask('POST', stop, { headers: { host, origin: `http://${host}` } });
      expect(reply.status, name).toBe(200);
    }
  });

  test('a plain link from another site to a page is let through', async () => {
    const web = await webUnderTest();
    const headers = {
      'sec-fetch-site': 'cross-site',
      'sec-fetch-mode': 'navigate',
      'sec-fetch-dest': 'document',
    };
    // 503: there is no dashboard in the empty folder, but the guard did not refuse.
    expect((await web.ask('GET', '/run/run-1', { headers })).status).toBe(503);
  });
});

describe('a path that leads out of the dashboard', () => {
  test.each([
    ['/../secret.txt', 404],
    ['/%2e%2e/secret.txt', 404],
    ['/assets/%2e%2e/%2e%2e/secret.txt', 404],
    ['/..%2fsecret.txt', 404],
    ['/assets/..%2f..%2fsecret.txt', 404],
    ['/%252e%252e/secret.txt', 404],
    ['/..%5csecret.txt', 404],
    ['/..\\secret.txt', 400],
    ['/....//secret.txt', 404],
    ['/assets//../../secret.txt', 404],
    ['/favicon.svg%00.txt', 404],
    ['/%c0%ae%c0%ae/secret.txt', 404],
  ])('%s does not', async (path, status) => {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'secret.txt'), 'the secret beside the dashboard');
    writeDashboard(join(folder, 'dashboard'));
    const web = await webUnderTest({ dashboardFolder: join(folder, 'dashboard') });
    expect((await web.ask('GET', '/favicon.svg')).status).toBe(200);
    const reply = await web.ask('GET', path);
    expect(reply.status).toBe(status);
    expect(reply.text).not.toContain('the secret');
  });
});

describe('a request that can be read in two ways', () => {
  const cases = [
    [
      'two Host headers',
      (port: number) => get('/api/bench', [`127.0.0.1:${port}`, 'evil.example']),
    ],
    [
      'a whole address as its target',
      (port: number) => get('http://evil.example/', [`127.0.0.1:${port}`]),
    ],
    ['no Host header', () => get('/api/bench', [])],
    ['a length and chunks', (port: number) => smuggle(port)],
  ] as const;

  test.each(cases)('%s is answered with 400', async (_name, text) => {
    const web = await webUnderTest();
    const reply = await exchange(web.port, text(web.port));
    expect(reply).toMatch(/^HTTP\/1\.1 400 /);
    expect(web.control.sent).toEqual([]);
  });
});

function get(target: string, hosts: readonly string[]): string {
  const lines = hosts.map((host) => `Host: ${host}\r\n`).join('');
  return `GET ${target} HTTP/1.1\r\n${lines}Connection: close\r\n\r\n`;
}

function smuggle(port: number): string {
  return (
    `POST ${stop} HTTP/1.1\r\nHost: 127.0.0.1:${port}\r\nContent-Type: application/json\r\n` +
    'Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n'
  );
}
