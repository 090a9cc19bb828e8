/** Break-ins: what somebody on the network, or a page that they lure somebody to, may try. All fail. */

import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { WebSocket } from 'ws';
import type { ClientOptions } from 'ws';
import { endpoints } from '../../daemon/web/endpoints.ts';
import { exchange, writeDashboard } from './fixture.ts';
import type { AskOptions, Reply } from './fixture.ts';
import { cookieOf, guardedWeb, passphrases } from './sign-in.ts';
import type { GuardedWeb } from './sign-in.ts';

const stop = '/api/tanks/beaker/stop';
const start = '/api/tanks/beaker/start';
const onRun = { runId: 'run-1', version: 4 };

let web: GuardedWeb;
let cookies: Readonly<Record<'view' | 'stop' | 'control', string>>;
let sessionIds: readonly string[];
let tried = 0;
const ends: (() => Promise<void> | void)[] = [];

beforeAll(async () => {
  const rules = { burst: 1_000_000, regainMs: 1 };
  // Limits have tests of their own; here they would only hide what is behind them.
  web = await guardedWeb(
    { attemptRules: { perAddress: rules, together: rules, mostWaiting: 100 } },
    (end) => void ends.push(end),
  );
  writeDashboard(web.dashboardFolder);
  cookies = {
    view: await web.signIn('view'),
    stop: await web.signIn('stop'),
    control: await web.signIn('control'),
  };
  const list = await web.askFrom(cookies.control, 'GET', '/api/sessions');
  sessionIds = (list.json() as { id: string }[]).map(({ id }) => id);
  expect(sessionIds).toHaveLength(3);
});

beforeEach(() => {
  web.control.sent.length = 0;
});

afterAll(async () => {
  for (const end of ends.toReversed()) await end();
  console.log(`${tried} break-ins were tried.`);
});

interface BreakIn {
  readonly name: string;
  readonly status: number;
  readonly method?: string;
  readonly path?: string;
  readonly cookie?: () => string | null;
  readonly more?: () => AskOptions;
}

const tokenOf = (cookie: string): string => cookie.split('=')[1] ?? '';
const none = (): null => null;

/** Keys to a session that are none. */
const forged: readonly BreakIn[] = [
  { name: 'no cookie', status: 401, cookie: none },
  { name: 'an empty token', status: 401, cookie: () => 'nightbath=' },
  { name: 'a token of the right length', status: 401, cookie: () => `nightbath=${'A'.repeat(43)}` },
  {
    name: 'a token with its last letter changed',
    status: 401,
    cookie: () => cookies.view.replace(/.$/, (last) => (last === 'A' ? 'B' : 'A')),
  },
  {
    name: 'a token in capitals',
    status: 401,
    cookie: () => `nightbath=${tokenOf(cookies.view).toUpperCase()}`,
  },
  {
    name: 'the hash that the disk keeps',
    status: 401,
    cookie: () => {
      const hash = createHash('sha256').update(tokenOf(cookies.view)).digest('hex');
      expect(readFileSync(join(web.folder, 'sessions.json'), 'utf8')).toContain(hash);
      return `nightbath=${hash}`;
    },
  },
  {
    name: 'the name of a session as its token',
    status: 401,
    cookie: () => `nightbath=${sessionIds[0] ?? ''}`,
  },
  {
    name: 'two cookies of one name, the good one first',
    status: 401,
    cookie: () => `${cookies.view}; nightbath=x`,
  },
  {
    name: 'two cookies of one name, the good one last',
    status: 401,
    cookie: () => `nightbath=x; ${cookies.view}`,
  },
  {
    name: 'the name that the cookie has over https',
    status: 401,
    cookie: () => `__Host-${cookies.view}`,
  },
  {
    name: 'a token in the address',
    status: 401,
    cookie: none,
    path: '/api/bench?nightbath=token',
  },
  {
    name: 'a token as a bearer',
    status: 401,
    cookie: none,
    more: () => ({ headers: { authorization: `Bearer ${tokenOf(cookies.control)}` } }),
  },
  {
    name: 'the passphrase as a password of the old kind',
    status: 401,
    cookie: none,
    more: () => ({
      headers: {
        authorization: `Basic ${Buffer.from(`control:${passphrases.control}`).toString('base64')}`,
      },
    }),
  },
  {
    name: 'a claim to be here, by a header of a proxy',
    status: 401,
    cookie: none,
    more: () => ({ headers: { 'x-forwarded-host': `127.0.0.1:${web.port}` } }),
  },
  {
    name: 'this machine’s own name through a proxy',
    status: 401,
    cookie: none,
    more: () => ({
      headers: { host: `127.0.0.1:${web.port}`, 'x-forwarded-for': '127.0.0.1' },
    }),
  },
  {
    name: 'a cookie of 20 kB',
    status: 431,
    cookie: () => `nightbath=${'A'.repeat(20_000)}`,
  },
];

/** What a lesser passphrase may try on the way to more. */
const climbing: readonly BreakIn[] = [
  ...endpoints
    .filter(({ role, method }) => role === 'control' && method !== 'get')
    .flatMap(({ method, path }) =>
      (['view', 'stop'] as const).map((role) => ({
        name: `${method} ${path} for ${role}`,
        status: 403,
        method: method.toUpperCase(),
        path: path.replace(/:\w+/g, 'beaker'),
        cookie: () => cookies[role],
        more: () => ({
          ...(method === 'delete' ? {} : { body: {} }),
          headers: /meshes|pictures/.test(path)
            ? { 'content-type': 'application/octet-stream' }
            : {},
        }),
      })),
    ),
  { name: 'a stop for view', status: 403, method: 'POST', path: stop, more: () => ({ body: {} }) },
  {
    name: 'a role in a header',
    status: 403,
    method: 'POST',
    path: start,
    more: () => ({ body: onRun, headers: { 'x-role': 'control', role: 'control' } }),
  },
  {
    name: 'a role in the body of a sign-in',
    status: 422,
    method: 'POST',
    path: '/api/session',
    cookie: none,
    more: () => ({ body: { passphrase: passphrases.view, role: 'control' } }),
  },
  {
    name: 'a stop by a GET that claims to be a POST',
    status: 405,
    path: stop,
    cookie: () => cookies.stop,
    more: () => ({ headers: { 'x-http-method-override': 'POST' } }),
  },
  {
    name: 'a POST that claims to be a DELETE of every session',
    status: 405,
    method: 'POST',
    path: '/api/sessions',
    cookie: () => cookies.control,
    more: () => ({ body: {}, headers: { 'x-http-method-override': 'DELETE' } }),
  },
  {
    name: 'a method in the address',
    status: 405,
    path: `${stop}?_method=POST`,
    cookie: () => cookies.stop,
  },
  ...[
    ['an escaped letter', '/api/tanks/beaker/%73tart', 403],
    ['capitals', '/API/tanks/beaker/start', 404],
    ['a doubled slash', '/api//tanks/beaker/start', 404],
    ['a slash at the end', `${start}/`, 404],
    ['dots', '/api/tanks/beaker/stop/../start', 403],
    ['escaped dots', '/api/tanks/beaker/stop/%2e%2e/start', 403],
    ['an escaped slash', '/api/tanks/beaker%2fstart', 405],
    ['a semicolon', '/api/tanks/beaker/start;stop', 404],
    ['a fragment', '/api/tanks/beaker/start%23/stop', 404],
    ['a NUL', '/api/tanks/beaker/start%00', 404],
  ].map(([what, path, status]) => ({
    name: `a start for stop under a path with ${what}`,
    status: Number(status),
    method: 'POST',
    path: String(path),
    cookie: () => cookies.stop,
    more: () => ({ body: onRun }),
  })),
];

/** What a page from elsewhere may make the browser of somebody who is signed in send. */
const lured: readonly BreakIn[] = [
  {
    name: 'a stop from a foreign page',
    status: 403,
    more: () => ({ headers: { origin: 'https://evil.example' } }),
  },
  {
    name: 'a stop from a page of this machine under another name of it',
    status: 403,
    more: () => ({ headers: { origin: `http://127.0.0.1:${web.port}` } }),
  },
  {
    name: 'a stop from the same name on another port',
    status: 403,
    more: () => ({ headers: { origin: `http://bench.test:${web.port + 1}` } }),
  },
  { name: 'a stop without an origin', status: 403, more: () => ({ headers: { origin: null } }) },
  {
    name: 'a stop without the header of our page',
    status: 403,
    more: () => ({ headers: { 'x-nightbath': null } }),
  },
  {
    name: 'a stop as a form',
    status: 415,
    more: () => ({ headers: { 'content-type': 'application/x-www-form-urlencoded' }, body: 'a=1' }),
  },
  {
    name: 'a start as text',
    status: 415,
    path: start,
    more: () => ({ headers: { 'content-type': 'text/plain' }, body: JSON.stringify(onRun) }),
  },
  {
    name: 'a stop that the browser marks as from another port of the same site',
    status: 403,
    more: () => ({ headers: { 'sec-fetch-site': 'same-site' } }),
  },
  {
    name: 'a sign-in to somebody else’s session',
    status: 403,
    path: '/api/session',
    cookie: none,
    more: () => ({
      headers: { origin: 'https://evil.example' },
      body: { passphrase: passphrases.view },
    }),
  },
  {
    name: 'a sign-in as a form',
    status: 415,
    path: '/api/session',
    cookie: none,
    more: () => ({
      headers: { 'content-type': 'application/x-www-form-urlencoded' },
      body: 'passphrase=walnut+lamp+river',
    }),
  },
  {
    name: 'a sign-out from a foreign page',
    status: 403,
    method: 'DELETE',
    path: '/api/session',
    more: () => ({ headers: { origin: 'https://evil.example' } }),
  },
  {
    name: 'a read under a rebound name, with the cookie',
    status: 403,
    method: 'GET',
    path: '/api/bench',
    more: () => ({ headers: { host: `evil.example:${web.port}` } }),
  },
  {
    name: 'a stop under a rebound name with the origin to match',
    status: 403,
    more: () => ({
      headers: {
        host: `evil.example:${web.port}`,
        origin: `http://evil.example:${web.port}`,
      },
    }),
  },
];

/** Sign-ins that are not meant to be understood. */
const bodies: readonly (readonly [string, unknown, number])[] = [
  ['of 5 kB', { passphrase: 'x', name: 'y'.repeat(5_000) }, 413],
  ['with a passphrase of 257 letters', { passphrase: 'x'.repeat(257) }, 422],
  ['nested a thousand times', '['.repeat(1_000) + ']'.repeat(1_000), 400],
  ['with a prototype', '{"passphrase":"x","__proto__":{"role":"control"}}', 400],
  ['with a constructor', '{"passphrase":"x","constructor":{"prototype":{"role":"control"}}}', 400],
  ['with an object as its passphrase', { passphrase: { $ne: '' } }, 422],
  ['with a list as its passphrase', { passphrase: [passphrases.control] }, 422],
  ['with true as its passphrase', { passphrase: true }, 422],
  ['without a passphrase', { name: 'Mara' }, 422],
  ['with a header in its name', { passphrase: 'x', name: 'M\r\nSet-Cookie: a=b' }, 422],
  ['that is not JSON', '{"passphrase":', 400],
];

const tables: readonly (readonly [string, string, readonly BreakIn[]])[] = [
  ['a key that is none', 'GET', forged],
  ['more than the passphrase allows', 'GET', climbing],
  ['what a foreign page sends', 'POST', lured],
];

describe.each(tables)('%s', (title, usual, table) => {
  test.each(table)('$name', async ({ method = usual, path, cookie, more, status }) => {
    tried += 1;
    const where = path ?? (usual === 'GET' ? '/api/bench' : stop);
    const own = title.startsWith('what') ? cookies.control : cookies.view;
    const sent = cookie === undefined ? own : cookie();
    const reply = await web.askFrom(sent, method, where, more?.());
    expect(reply.status).toBe(status);
    expectNothingGained(reply);
  });
});

describe('a sign-in', () => {
  test.each(bodies)('%s', async (_what, body, status) => {
    tried += 1;
    const reply = await web.askFrom(null, 'POST', '/api/session', { body });
    expect(reply.status).toBe(status);
    expectNothingGained(reply);
  });

  test('with a token that somebody chose beforehand opens no session under that token', async () => {
    tried += 1;
    const chosen = `nightbath=${'B'.repeat(43)}`;
    const body = { passphrase: passphrases.control };
    const reply = await web.askFrom(chosen, 'POST', '/api/session', { body });
    expect(reply.status).toBe(200);
    expect(cookieOf(reply)).not.toBe(chosen);
    expect((await web.askFrom(chosen, 'GET', '/api/bench')).status).toBe(401);
  });

  test('on top of a planted session ends that one, and the planter gets nothing of the new one', async () => {
    tried += 1;
    const planted = await web.signIn('view');
    const body = { passphrase: passphrases.control };
    const reply = await web.askFrom(planted, 'POST', '/api/session', { body });
    expect(reply.status).toBe(200);
    expect((await web.askFrom(planted, 'GET', '/api/bench')).status).toBe(401);
  });

  test('that is over opens nothing any more', async () => {
    tried += 1;
    const mine = await web.signIn('view');
    await web.askFrom(mine, 'DELETE', '/api/session');
    expect((await web.askFrom(mine, 'GET', '/api/bench')).status).toBe(401);
  });

  test('is not found by guessing a hundred tokens', async () => {
    tried += 1;
    const guesses = Array.from({ length: 100 }, (_, index) =>
      createHash('sha256').update(`guess ${index}`).digest('base64url'),
    );
    for (const guess of guesses) {
      expect((await web.askFrom(`nightbath=${guess}`, 'GET', '/api/bench')).status).toBe(401);
    }
  });
});

describe('a key that makes a repeat harmless', () => {
  const key = { 'idempotency-key': 'the-same-key' };

  test('is another one in another session and on another path, so it replays nobody’s answer', async () => {
    tried += 1;
    const other = await web.signIn('control');
    const demo = '/api/tanks/beaker/demo';
    await web.askFrom(cookies.control, 'POST', demo, { body: {}, headers: key });
    await web.askFrom(cookies.control, 'POST', demo, { body: {}, headers: key });
    await web.askFrom(other, 'POST', demo, { body: {}, headers: key });
    await web.askFrom(cookies.control, 'POST', start, { body: onRun, headers: key });
    await web.ask('POST', demo, { body: {}, headers: key });
    const keys = web.control.sent.map((sent) => sent.key);
    expect(keys).toHaveLength(5);
    expect(keys[1]).toBe(keys[0]);
    expect(new Set(keys).size).toBe(4);
    expect(keys.every((one) => one.length <= 100)).toBe(true);
  });

  test('of somebody with control does nothing for somebody without', async () => {
    tried += 1;
    const demo = '/api/tanks/beaker/demo';
    await web.askFrom(cookies.control, 'POST', demo, { body: {}, headers: key });
    const reply = await web.askFrom(cookies.view, 'POST', demo, { body: {}, headers: key });
    expect(reply.status).toBe(403);
    expect(web.control.sent).toHaveLength(1);
  });
});

describe('an upgrade to the live socket', () => {
  const mine = (): ClientOptions => ({
    origin: `http://${web.name}`,
    headers: { host: web.name, cookie: cookies.view },
  });
  const cases: readonly (readonly [string, number, () => ClientOptions])[] = [
    ['without a cookie', 401, () => ({ ...mine(), headers: { host: web.name } })],
    [
      'with a made-up token',
      401,
      () => ({ ...mine(), headers: { host: web.name, cookie: `nightbath=${'C'.repeat(43)}` } }),
    ],
    [
      'with two cookies of one name',
      401,
      () => ({ ...mine(), headers: { host: web.name, cookie: `nightbath=x; ${cookies.view}` } }),
    ],
    [
      'with the token as its protocol',
      401,
      () => ({
        ...mine(),
        headers: { host: web.name, 'sec-websocket-protocol': tokenOf(cookies.view) },
      }),
    ],
    ['from a foreign page', 403, () => ({ ...mine(), origin: 'https://evil.example' })],
    [
      'from a page of this machine under another name',
      403,
      () => ({ ...mine(), origin: `http://127.0.0.1:${web.port}` }),
    ],
    ['without an origin', 403, () => ({ headers: { host: web.name, cookie: cookies.view } })],
    [
      'under a rebound name',
      403,
      () => ({
        origin: `http://evil.example:${web.port}`,
        headers: { host: `evil.example:${web.port}`, cookie: cookies.view },
      }),
    ],
    [
      'through a proxy to this machine’s own name',
      401,
      () => ({
        origin: `http://127.0.0.1:${web.port}`,
        headers: { host: `127.0.0.1:${web.port}`, 'x-forwarded-for': '127.0.0.1' },
      }),
    ],
  ];

  test.each(cases)('%s is refused', async (_what, status, options) => {
    tried += 1;
    const socket = new WebSocket(`ws://127.0.0.1:${web.port}/api/live`, options());
    const refused = await new Promise<number>((resolve) => {
      socket.on('error', () => undefined);
      socket.on('open', () => resolve(101));
      socket.on('unexpected-response', (_request, response) => {
        response.resume();
        resolve(response.statusCode ?? 0);
      });
    });
    socket.terminate();
    expect(refused).toBe(status);
    expect(web.hub.clients).toBe(0);
  });
});

/** Requests by hand, under this machine's own name: whatever they smuggle would be obeyed. */
describe('bytes that two readers may read in two ways', () => {
  const head = (): string =>
    `Host: 127.0.0.1:${web.port}\r\nOrigin: http://127.0.0.1:${web.port}\r\nX-Nightbath: 1\r\n` +
    'Content-Type: application/json\r\nIdempotency-Key: smuggled\r\n';
  const post = (lines: string, body: string): string =>
    `POST /api/tanks/beaker/demo HTTP/1.1\r\n${head()}${lines}\r\n${body}`;
  const cases: readonly (readonly [string, () => string])[] = [
    [
      'two lengths that differ',
      () => post('Content-Length: 2\r\nContent-Length: 7\r\n', '{}GET / '),
    ],
    ['two lengths that agree', () => post('Content-Length: 2\r\nContent-Length: 2\r\n', '{}')],
    ['two lengths in one line', () => post('Content-Length: 2, 2\r\n', '{}')],
    [
      'a length and chunks',
      () => post('Content-Length: 5\r\nTransfer-Encoding: chunked\r\n', '0\r\n\r\n'),
    ],
    [
      'chunks and a length',
      () => post('Transfer-Encoding: chunked\r\nContent-Length: 5\r\n', '0\r\n\r\n'),
    ],
    ['a coding that is none', () => post('Transfer-Encoding: xchunked\r\n', '0\r\n\r\n')],
    [
      'chunks that are not the last coding',
      () => post('Transfer-Encoding: chunked, identity\r\n', '0\r\n\r\n'),
    ],
    [
      'a size of a chunk with a sign',
      () => post('Transfer-Encoding: chunked\r\n', '+2\r\n{}\r\n0\r\n\r\n'),
    ],
    ['a length with a sign', () => post('Content-Length: +2\r\n', '{}')],
    ['a length below zero', () => post('Content-Length: -1\r\n', '')],
    ['a blank before a colon', () => post('Content-Length : 2\r\n', '{}')],
    ['a header without a colon', () => post('Content-Length 2\r\n', '{}')],
    ['a NUL in a header', () => post('X-A: a\u0000b\r\nContent-Length: 2\r\n', '{}')],
    ['a carriage return alone', () => post('X-A: a\rX-B: b\r\nContent-Length: 2\r\n', '{}')],
    [
      'two origins, one of them ours',
      () => post('Origin: https://evil.example\r\nContent-Length: 2\r\n', '{}'),
    ],
  ];

  test('the same in one way is obeyed, so the refusals mean something', async () => {
    const reply = await exchange(
      web.port,
      post('Content-Length: 2\r\nConnection: close\r\n', '{}'),
    );
    expect(reply).toMatch(/^HTTP\/1\.1 200 /);
    expect(web.control.sent).toHaveLength(1);
  });

  test.each(cases)('%s are answered with 400 and end the connection', async (_what, text) => {
    tried += 1;
    const reply = await exchange(web.port, text());
    expect(reply).toMatch(/^HTTP\/1\.1 400 /);
    expect(reply.match(/^HTTP\/1\.1 /gm)).toHaveLength(1);
    expect(web.control.sent).toEqual([]);
  });

  test('a request in the body of one that is refused is not read as a request', async () => {
    tried += 1;
    const inner = post('Content-Length: 2\r\n', '{}');
    const outer =
      `POST ${stop} HTTP/1.1\r\nHost: 127.0.0.1:${web.port}\r\nOrigin: https://evil.example\r\n` +
      `X-Nightbath: 1\r\nContent-Type: application/json\r\nConnection: close\r\n` +
      `Content-Length: ${inner.length}\r\n\r\n${inner}`;
    const reply = await exchange(web.port, outer);
    expect(reply).toMatch(/^HTTP\/1\.1 403 /);
    expect(reply.match(/HTTP\/1\.1 \d/g)).toHaveLength(1);
    expect(web.control.sent).toEqual([]);
  });
});

describe('an answer', () => {
  test.each([
    ['a name of a run', '/api/runs/x%0d%0aset-cookie:%20a=b'],
    ['a name of a piece', '/api/pieces/x%0d%0ax-evil:%20yes/export'],
    ['a page', '/log/x%0d%0aset-cookie:%20a=b'],
    ['a query', '/api/runs?tank=x%0d%0aset-cookie:%20a=b'],
  ])('takes no header from %s', async (_what, path) => {
    tried += 1;
    const reply = await web.askFrom(cookies.control, 'GET', path);
    expect(reply.headers['set-cookie']).toBeUndefined();
    expect(reply.headers['x-evil']).toBeUndefined();
    expect([200, 404, 422, 503]).toContain(reply.status);
  });

  test.each([
    '//evil.example/',
    '/\\evil.example/',
    '/https://evil.example/',
    '/%2f%2fevil.example/',
    '/api/session?next=https://evil.example/',
  ])('to %s leads nowhere else', async (path) => {
    tried += 1;
    const reply = await web.askFrom(null, 'GET', path);
    expect(reply.status < 300 || reply.status >= 400).toBe(true);
    expect(reply.headers.location).toBeUndefined();
  });
});

function expectNothingGained(reply: Reply): void {
  expect(web.control.sent).toEqual([]);
  expect(reply.headers['set-cookie']).toBeUndefined();
  expect(reply.headers['access-control-allow-origin']).toBeUndefined();
  if (reply.status !== 431) {
    expect(reply.headers['content-type']).toBe('application/problem+json');
  }
}
