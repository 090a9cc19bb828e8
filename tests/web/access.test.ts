/** Signing in and out over the real server: sessions, roles, limits, and what is told to whom. */

import { once } from 'node:events';
import { readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pino } from 'pino';
import { describe, expect, test, vi } from 'vitest';
import { WebSocket } from 'ws';
import { endpoints } from '../../daemon/web/endpoints.ts';
import {
  idleMs,
  lifetimeMs,
  mostSessionsOfRole,
  SessionBook,
} from '../../daemon/web/access/sessions.ts';
import { standingSchema } from '../../daemon/wire/session.ts';
import type { Role } from '../../daemon/wire/roles.ts';
import { settings, webUnderTest } from './fixture.ts';
import { cheapHash, cookieOf, guardedWeb, otherName, passphrases, writeHashes } from './sign-in.ts';
import type { GuardedWeb } from './sign-in.ts';

const stop = '/api/tanks/beaker/stop';
const roles = ['view', 'stop', 'control'] as const;

/** The path with something in the place of each parameter. */
function concrete(path: string): string {
  return path.replace(/:\w+/g, 'nothing-of-that-name');
}

/** A live socket from elsewhere, open or refused. */
function liveFrom(web: GuardedWeb, cookie: string | null): WebSocket {
  return new WebSocket(`ws://127.0.0.1:${web.port}/api/live`, {
    headers: { host: web.name, ...(cookie !== null && { cookie }) },
    origin: `http://${web.name}`,
  });
}

describe('a browser on this machine', () => {
  test('needs no passphrase, whether or not one is set', async () => {
    for (const web of [await webUnderTest(), await guardedWeb()]) {
      expect((await web.ask('GET', '/api/session')).json()).toEqual({
        role: 'control',
        name: '',
        here: true,
        signedIn: false,
        endsWallMs: null,
      });
      expect((await web.ask('POST', stop)).status).toBe(200);
      expect(web.control.sent.at(-1)?.command).toMatchObject({ kind: 'stop', by: 'the page' });
    }
  });

  test('signs in like any other where the settings ask for it', async () => {
    const web = await guardedWeb({
      settings: { ...settings, web: { ...settings.web, signInHere: true } },
    });
    expect((await web.ask('GET', '/api/bench')).status).toBe(401);
    expect((await web.ask('POST', stop)).status).toBe(401);
    const reply = await web.ask('POST', '/api/session', {
      body: { passphrase: passphrases.stop, name: 'Rowan' },
    });
    expect(reply.status).toBe(200);
    const headers = { cookie: cookieOf(reply) };
    expect((await web.ask('POST', stop, { headers })).status).toBe(200);
    expect(web.control.sent.at(-1)?.command).toMatchObject({ by: 'Rowan (stop) on this machine' });
    expect((await web.ask('GET', '/api/ports', { headers })).status).toBe(403);
  });

  test('that asks through something in between may be anywhere, and signs in', async () => {
    const web = await guardedWeb();
    for (const name of ['x-forwarded-for', 'forwarded', 'via', 'x-real-ip']) {
      const reply = await web.ask('GET', '/api/bench', { headers: { [name]: '192.0.2.7' } });
      expect(reply.status, name).toBe(401);
    }
  });
});

describe('every route', () => {
  test('of the application stands in the table with a role', async () => {
    const web = await webUnderTest();
    const routes = new Set(
      web.app.routes
        .filter(({ method }) => method !== 'ALL')
        .map(({ method, path }) => `${method.toLowerCase()} ${path}`),
    );
    expect(routes.size).toBeGreaterThan(40);
    const table = new Map(endpoints.map((one) => [`${one.method} ${one.path}`, one.role]));
    for (const route of routes) {
      expect(['open', ...roles], route).toContain(table.get(route));
    }
    // What needs no session is listed here once more, so that nothing joins it unseen.
    const open = [...table].filter(([, role]) => role === 'open').map(([route]) => route);
    expect(open.toSorted()).toEqual([
      'delete /api/session',
      'get /api/session',
      'get /healthz',
      'post /api/session',
    ]);
  });

  test('that changes anything needs control, but for stop and for the session itself', () => {
    const others = endpoints.filter(({ method, role }) => method !== 'get' && role !== 'control');
    expect(others.map(({ method, path }) => `${method} ${path}`).toSorted()).toEqual([
      'delete /api/session',
      'post /api/parts/measure',
      'post /api/plans',
      'post /api/plans/compare',
      'post /api/session',
      'post /api/sizes',
      // Looks at a change, and makes none.
      'post /api/tanks/:id/change-look',
      'post /api/tanks/:id/stop',
    ]);
  });

  test('refuses a stranger with 401 and a lesser role with 403, before anything reaches control', async () => {
    const web = await guardedWeb();
    const cookies = { view: await web.signIn('view'), stop: await web.signIn('stop') };
    const ranks = ['open', ...roles];
    const held: [Role | 'open', string | null][] = [
      ['open', null],
      ['view', cookies.view],
      ['stop', cookies.stop],
    ];
    let asked = 0;
    for (const [role, cookie] of held) {
      for (const { method, path, role: needed } of endpoints) {
        if (ranks.indexOf(role) >= ranks.indexOf(needed)) continue;
        const reply = await web.askFrom(cookie, method.toUpperCase(), concrete(path), {
          ...((method === 'post' || method === 'put') && { body: {} }),
          headers: uploads(path),
        });
        const what = `${method} ${path} as ${role}`;
        expect(reply.status, what).toBe(role === 'open' ? 401 : 403);
        expect(reply.headers['content-type'], what).toBe('application/problem+json');
        asked += 1;
      }
    }
    expect(asked).toBeGreaterThan(70);
    expect(web.control.sent).toEqual([]);
    console.log(`${asked} requests without the role that their route needs were refused.`);
  });

  test('that is not there is told only to those who may look around', async () => {
    const web = await guardedWeb();
    expect((await web.askFrom(null, 'GET', '/api/nothing')).status).toBe(401);
    expect((await web.askFrom(await web.signIn('view'), 'GET', '/api/nothing')).status).toBe(404);
  });
});

function uploads(path: string): Readonly<Record<string, string>> {
  if (path === '/api/meshes' || path === '/api/pictures') {
    return { 'content-type': 'application/octet-stream' };
  }
  return {};
}

describe('before anybody signs in', () => {
  test('health says no more than that it is up', async () => {
    const web = await guardedWeb();
    const up = await web.askFrom(null, 'GET', '/healthz');
    expect(up.json()).toEqual({ status: 'ok' });
    for (const path of ['/readyz', '/api/health', '/api/openapi.json', '/api/settings']) {
      const reply = await web.askFrom(null, 'GET', path);
      expect(reply.status, path).toBe(401);
      expect(reply.text, path).not.toMatch(/beaker|Teasel|window|sqlite/i);
    }
  });

  test('the standing tells of no bench and no person', async () => {
    const web = await guardedWeb();
    const standing = standingSchema.parse((await web.askFrom(null, 'GET', '/api/session')).json());
    expect(standing).toEqual({
      role: null,
      name: '',
      here: false,
      signedIn: false,
      endsWallMs: null,
    });
  });
});

describe('signing in', () => {
  test.each(roles)(
    'with the passphrase for %s gives that role and a cookie for it',
    async (role) => {
      const web = await guardedWeb();
      const body = { passphrase: passphrases[role], name: ' Mara ' };
      const reply = await web.askFrom(null, 'POST', '/api/session', { body });
      expect(reply.json()).toMatchObject({ role, name: 'Mara', here: false, signedIn: true });
      const [cookie = ''] = reply.headers['set-cookie'] ?? [];
      expect(cookie).toMatch(/^nightbath=[A-Za-z0-9_-]{43}; /);
      const attributes = cookie.split('; ').slice(1).toSorted();
      expect(attributes).toEqual(['HttpOnly', 'Max-Age=604800', 'Path=/', 'SameSite=Strict']);
    },
  );

  test('is refused in one and the same way, whatever is wrong', async () => {
    const web = await guardedWeb();
    const wrong = ['', 'x', 'walnut lamp rive', 'thimble oak winter\u0000'];
    const answers = await Promise.all(
      wrong.map((passphrase) =>
        web.askFrom(null, 'POST', '/api/session', { body: { passphrase } }),
      ),
    );
    const [first] = answers.map(({ status, text }) => `${status} ${text}`);
    expect(first).toMatch(/^401 /);
    for (const { status, text } of answers) expect(`${status} ${text}`).toBe(first);
    expect(answers[0]?.headers['set-cookie']).toBeUndefined();
  });

  test('takes a passphrase that another keyboard composes in another way', async () => {
    const web = await guardedWeb();
    const composed = 'caf\u00e9 by the river';
    writeHashes(join(web.folder, 'passphrases.json'), {
      control: cheapHash(composed, 'the salt of another'),
    });
    await new Promise((resolve) => setTimeout(resolve, 600));
    const body = { passphrase: 'cafe\u0301 by the river' };
    expect((await web.askFrom(null, 'POST', '/api/session', { body })).status).toBe(200);
  });

  test.each([
    ['a line break', 'Mara\nStopped by nobody'],
    ['an escape sequence', 'Mara\u001b[2J'],
    ['a change of direction', 'Mara\u202e'],
    ['25 letters', 'a'.repeat(25)],
    ['a list', ['Mara']],
  ])('with %s as the name is refused', async (_what, name) => {
    const web = await guardedWeb();
    const body = { passphrase: passphrases.control, name };
    const reply = await web.askFrom(null, 'POST', '/api/session', { body });
    expect(reply.status).toBe(422);
    expect(reply.json()).toMatchObject({ problems: [{ field: 'name' }] });
  });

  test('names the person in what control is told, within its bound', async () => {
    const web = await guardedWeb();
    const cookie = await web.signIn('control', 'a'.repeat(24));
    await web.askFrom(cookie, 'POST', '/api/tanks/beaker/demo', { body: {} });
    const sent = web.control.sent.at(-1)?.command;
    const by = sent !== undefined && 'by' in sent ? sent.by : '';
    expect(by).toBe(`${'a'.repeat(24)} (control) at 127.0.0.1`);
    expect(by.length).toBeLessThanOrEqual(80);
  });
});

describe('a session', () => {
  test('ends when its person signs out, and its live sockets with it', async () => {
    const web = await guardedWeb();
    const cookie = await web.signIn('view');
    const other = await web.signIn('view');
    const socket = liveFrom(web, cookie);
    const stays = liveFrom(web, other);
    await Promise.all([once(socket, 'open'), once(stays, 'open')]);
    const closed = once(socket, 'close');
    const out = await web.askFrom(cookie, 'DELETE', '/api/session');
    expect(out.status).toBe(200);
    expect(out.headers['set-cookie']?.[0]).toMatch(/^nightbath=; Max-Age=0; /);
    expect((await closed)[0]).toBe(4401);
    expect((await web.askFrom(cookie, 'GET', '/api/bench')).status).toBe(401);
    expect(stays.readyState).toBe(WebSocket.OPEN);
    stays.terminate();
  });

  test('ends with all others when somebody with control says so', async () => {
    const web = await guardedWeb();
    const [control, view] = [await web.signIn('control', 'Mara'), await web.signIn('view')];
    const list = await web.askFrom(control, 'GET', '/api/sessions');
    expect(list.json()).toMatchObject([
      { role: 'control', name: 'Mara', address: '127.0.0.1' },
      { role: 'view', name: '' },
    ]);
    expect(list.text).not.toContain(control.slice(-20));
    expect((await web.askFrom(view, 'DELETE', '/api/sessions')).status).toBe(403);
    expect((await web.askFrom(control, 'DELETE', '/api/sessions')).status).toBe(200);
    for (const cookie of [control, view]) {
      expect((await web.askFrom(cookie, 'GET', '/api/bench')).status).toBe(401);
    }
  });

  test('ends unused after a day, and however used after a week', async () => {
    let now = Date.UTC(2026, 0, 1);
    const web = await guardedWeb({ nowMs: () => now });
    const cookie = await web.signIn('view');
    for (let day = 0; day < 6; day += 1) {
      now += idleMs - 1000;
      expect((await web.askFrom(cookie, 'GET', '/api/bench')).status, `day ${day}`).toBe(200);
    }
    now += lifetimeMs - 6 * (idleMs - 1000);
    expect((await web.askFrom(cookie, 'GET', '/api/bench')).status).toBe(401);
    const unused = await web.signIn('view');
    now += idleMs;
    expect((await web.askFrom(unused, 'GET', '/api/bench')).status).toBe(401);
  });

  test('outlasts a clock that is set back, as on a board that wakes up in the past', async () => {
    let now = Date.UTC(2026, 0, 2);
    const web = await guardedWeb({ nowMs: () => now });
    const cookie = await web.signIn('stop');
    now = Date.UTC(2000, 0, 1);
    expect((await web.askFrom(cookie, 'POST', stop)).status).toBe(200);
    now = Date.UTC(2026, 0, 2, 1);
    expect((await web.askFrom(cookie, 'POST', stop)).status).toBe(200);
  });

  test('is kept in use by an open page, and closes that page when it is too old', async () => {
    let now = Date.UTC(2026, 0, 1);
    const web = await guardedWeb({ nowMs: () => now, liveLimits: { pingMs: 50 } });
    const cookie = await web.signIn('view');
    const socket = liveFrom(web, cookie);
    await once(socket, 'open');
    now += idleMs / 2;
    await new Promise((resolve) => setTimeout(resolve, 150));
    now += idleMs / 2 + 1000;
    await new Promise((resolve) => setTimeout(resolve, 150));
    expect(socket.readyState).toBe(WebSocket.OPEN);
    const closed = once(socket, 'close');
    now += lifetimeMs;
    expect((await closed)[0]).toBe(4401);
  });

  test('outlives the page’s process, of which the disk holds no token', async () => {
    const web = await guardedWeb();
    const cookie = await web.signIn('stop', 'Mara');
    const file = join(web.folder, 'sessions.json');
    const token = cookie.split('=')[1] ?? '';
    expect(token).toHaveLength(43);
    expect(readFileSync(file, 'utf8')).not.toContain(token);
    expect(statSync(file).mode & 0o777).toBe(0o600);
    await web.close();
    const again = await webUnderTest({
      passphraseFile: join(web.folder, 'passphrases.json'),
      sessionFile: file,
      settings: {
        ...settings,
        server: { port: web.port },
        web: { ...settings.web, hostNames: [otherName] },
      },
    });
    const headers = { host: web.name, origin: `http://${web.name}`, cookie };
    expect((await again.ask('POST', stop, { headers })).status).toBe(200);
  });

  test('ends when its passphrase is changed, and no other does', async () => {
    const web = await guardedWeb();
    const [view, control] = [await web.signIn('view'), await web.signIn('control')];
    const kept = JSON.parse(readFileSync(join(web.folder, 'passphrases.json'), 'utf8')) as {
      roles: Record<Role, string>;
    };
    writeHashes(join(web.folder, 'passphrases.json'), {
      ...kept.roles,
      view: cheapHash('another view of it', 'the salt of another'),
    });
    await vi.waitFor(
      async () => expect((await web.askFrom(view, 'GET', '/api/bench')).status).toBe(401),
      { timeout: 5000 },
    );
    expect((await web.askFrom(control, 'GET', '/api/bench')).status).toBe(200);
  });

  test.each([
    ['that is damaged', '{"version":1,"sessions":[{'],
    ['of another version', '{"version":9,"sessions":[]}'],
  ])('file %s costs nobody more than a new sign-in', async (_what, text) => {
    const web = await guardedWeb();
    const cookie = await web.signIn('view');
    const file = join(web.folder, 'sessions.json');
    await web.close();
    writeFileSync(file, text);
    const again = await guardedWeb({ sessionFile: file });
    expect((await again.askFrom(cookie, 'GET', '/api/bench')).status).toBe(401);
    const anew = await again.signIn('view');
    expect((await again.askFrom(anew, 'GET', '/api/bench')).status).toBe(200);
  });
});

describe('more sessions than there is room for', () => {
  function bookUnderTest() {
    let now = Date.UTC(2026, 0, 1);
    const book = new SessionBook({
      file: null,
      nowMs: () => (now += 1000),
      markOf: () => 'a mark',
      warn: (error) => expect.unreachable(String(error)),
    });
    const open = (role: Role, address: string): string => book.open(role, '', address).token;
    const flood = (role: Role, address: string): void => {
      for (let turn = 0; turn < mostSessionsOfRole + 5; turn += 1) open(role, address);
    };
    const held = (token: string): boolean => book.find(token) !== null;
    return { book, open, flood, held };
  }

  test.each(roles)('of %s from one place push nobody else out', (role) => {
    const { book, open, flood, held } = bookUnderTest();
    const others = roles.map((one) => open(one, '192.0.2.7'));
    flood(role, '192.0.2.66');
    expect(others.map(held)).toEqual([true, true, true]);
    expect(book.all().filter((one) => one.role === role)).toHaveLength(mostSessionsOfRole);
    // There is room for one more of the others too.
    others.push(open(role, '192.0.2.8'));
    expect(others.every(held)).toBe(true);
  });

  test('from many places: that which was unused for longest goes', () => {
    const { open, held } = bookUnderTest();
    const first = open('view', '192.0.2.1');
    const second = open('view', '192.0.2.2');
    for (let place = 3; place <= mostSessionsOfRole; place += 1) open('view', `192.0.2.${place}`);
    expect(held(first)).toBe(true);
    const last = open('view', '192.0.2.200');
    expect([first, second, last].map(held)).toEqual([true, false, true]);
  });
});

describe('too many tries', () => {
  const rules = {
    perAddress: { burst: 3, regainMs: 60_000 },
    together: { burst: 4, regainMs: 60_000 },
    mostWaiting: 4,
  };
  const wrong = { body: { passphrase: 'not the right one' } };

  test('from one address are turned away, the right passphrase with them', async () => {
    const web = await guardedWeb({ attemptRules: rules });
    for (let turn = 0; turn < 3; turn += 1) {
      expect((await web.askFrom(null, 'POST', '/api/session', wrong)).status).toBe(401);
    }
    const right = { body: { passphrase: passphrases.control } };
    const reply = await web.askFrom(null, 'POST', '/api/session', right);
    expect(reply.status).toBe(429);
    expect(Number(reply.headers['retry-after'])).toBeGreaterThan(0);
    expect(reply.json()).toMatchObject({
      detail: expect.stringContaining('own switch') as unknown,
    });
  });

  test('hold up neither the bench itself nor the stop of somebody who is signed in', async () => {
    const web = await guardedWeb({ attemptRules: rules });
    const cookie = await web.signIn('stop');
    for (let turn = 0; turn < 8; turn += 1) await web.askFrom(null, 'POST', '/api/session', wrong);
    expect((await web.askFrom(null, 'POST', '/api/session', wrong)).status).toBe(429);
    expect((await web.askFrom(cookie, 'POST', stop)).status).toBe(200);
    expect((await web.ask('POST', stop)).status).toBe(200);
    const here = { body: { passphrase: passphrases.control } };
    expect((await web.ask('POST', '/api/session', here)).status).toBe(200);
  });

  test('are not forgotten for the right passphrase of a lower role in between', async () => {
    const web = await guardedWeb({
      attemptRules: { ...rules, together: { burst: 100, regainMs: 60_000 } },
    });
    const statuses: number[] = [];
    for (const passphrase of ['wrong', 'wrong', passphrases.view, 'wrong', 'wrong']) {
      const reply = await web.askFrom(null, 'POST', '/api/session', { body: { passphrase } });
      statuses.push(reply.status);
    }
    expect(statuses).toEqual([401, 401, 200, 401, 429]);
  });

  test.each<[Role, number]>([
    ['view', 429],
    ['stop', 429],
    ['control', 401],
  ])('from all together hold up an address signed in for %s: %i', async (role, status) => {
    const web = await guardedWeb({
      attemptRules: {
        ...rules,
        perAddress: { burst: 100, regainMs: 60_000 },
        together: { burst: 3, regainMs: 60_000 },
      },
    });
    const cookie = await web.signIn(role);
    for (let turn = 0; turn < 3; turn += 1) await web.askFrom(null, 'POST', '/api/session', wrong);
    expect((await web.askFrom(null, 'POST', '/api/session', wrong)).status).toBe(status);
    // Whoever is in stays in.
    expect((await web.askFrom(cookie, 'GET', '/api/bench')).status).toBe(200);
  });

  test('at once are computed one after another, and the rest is turned away', async () => {
    const web = await guardedWeb({
      attemptRules: {
        ...rules,
        perAddress: { burst: 1000, regainMs: 1 },
        together: { burst: 1000, regainMs: 1 },
      },
    });
    const flood = Array.from({ length: 40 }, () =>
      web.askFrom(null, 'POST', '/api/session', wrong),
    );
    // Meanwhile the page answers others.
    expect((await web.ask('POST', stop)).status).toBe(200);
    const statuses = (await Promise.all(flood)).map(({ status }) => status);
    const computed = statuses.filter((status) => status === 401).length;
    expect(computed).toBeGreaterThanOrEqual(1);
    expect(statuses.filter((status) => status === 429)).toHaveLength(40 - computed);
    expect(computed).toBeLessThan(40);
  });

  test('and every sign-in are told in the log, without the passphrase', async () => {
    const lines: string[] = [];
    const log = pino({ level: 'info' }, { write: (line: string) => void lines.push(line) });
    const web = await guardedWeb({ attemptRules: rules, log });
    await web.askFrom(null, 'POST', '/api/session', { body: { passphrase: 'not this one' } });
    const cookie = await web.signIn('control', 'Mara');
    await web.askFrom(cookie, 'DELETE', '/api/session');
    const text = lines.join('');
    expect(text).toContain('A sign-in was refused: the passphrase is not right.');
    expect(text).toContain('Signed in: Mara (control) at 127.0.0.1.');
    expect(text).toContain('Signed out: Mara (control) at 127.0.0.1.');
    expect(text).not.toMatch(/not this one|thimble/);
    expect(web.control.notes).toEqual([
      'A sign-in from 127.0.0.1 was refused.',
      'Signed in: Mara (control) at 127.0.0.1.',
      'Signed out: Mara (control) at 127.0.0.1.',
    ]);
  });
});
