/** Settings over HTTP: what may be seen and changed by whom, conflicts, secrets, and the log of it. */

import { existsSync, readFileSync, readdirSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, onTestFinished, test } from 'vitest';
import { loadBaths, loadSettings } from '../../daemon/settings/door.ts';
import { problemDocumentSchema } from '../../daemon/web/problem.ts';
import {
  bathFileSchema,
  settingsFileSchema,
  settingsSavedSchema,
} from '../../daemon/wire/settings.ts';
import type { TankSnapshot } from '../../daemon/wire/bench.ts';
import { BenchFolder, benchToml } from '../settings/bench-folder.ts';
import { ownAddresses } from '../../daemon/web/settings/own-addresses.ts';
import { tankSnapshot, temporaryFolder, webUnderTest, writeDashboard } from './fixture.ts';
import { cookieOf, passphrases, writeHashes } from './sign-in.ts';
import type { HandControl, WebChange } from './fixture.ts';

async function bench(toml = benchToml, change: WebChange = {}, tanks = 'read') {
  const folder = new BenchFolder(toml);
  onTestFinished(() => folder.remove());
  const env = { HOME: folder.path, XDG_STATE_HOME: folder.path };
  const { settings } = loadSettings({ configPath: folder.file, env });
  const web = await webUnderTest({
    settings,
    baths: loadBaths(env, folder.file),
    env,
    place: { file: folder.file, source: 'flag', databaseFile: join(folder.path, 'runs.sqlite') },
    passphraseFile: join(folder.path, 'nightbath', 'passphrases.json'),
    ...change,
  });
  if (tanks === 'read') {
    for (const { id } of settings.tanks) {
      web.control.push({ type: 'tank', tank: tankSnapshot({ id }) });
    }
  }
  const show = async () =>
    settingsFileSchema.parse((await web.ask('GET', '/api/settings/file')).json());
  const save = async (changes: readonly unknown[], hash?: string, headers = {}) =>
    web.ask('POST', '/api/settings/file', {
      body: { hash: hash ?? (await show()).hash, changes },
      headers,
    });
  return { folder, web, show, save, text: () => readFileSync(folder.file, 'utf8') };
}

const amps = { kind: 'set', path: ['tanks', 0, 'maxAmps'], value: 2.5 };
const phone = {
  name: 'phone',
  kind: 'webhook',
  url: { secret: 'https://push.example/token-that-nobody-sees' },
  headers: { Authorization: { secret: 'Bearer also-hidden' } },
};

function told(control: HandControl): readonly string[] {
  return control.sent.flatMap(({ command }) =>
    command.kind === 'settings-note' ? [command.note] : [],
  );
}

describe('the settings file', () => {
  test('is shown, changed in place, and the change waits to be taken over', async () => {
    const { save, show, text, web } = await bench();
    expect(await show()).toMatchObject({ waiting: [], problems: [], running: [], here: true });
    const reply = await save([amps]);
    expect(reply.status).toBe(200);
    const saved = settingsSavedSchema.parse(reply.json());
    expect(saved.waiting).toEqual(['tanks[one].maxAmps']);
    expect(text()).toBe(benchToml.replace('maxAmps = 3', 'maxAmps = 2.5'));
    expect(await show()).toMatchObject({ hash: saved.hash, waiting: ['tanks[one].maxAmps'] });
    expect(told(web.control)).toEqual(['Settings: tanks[one].maxAmps from 3 to 2.5, by the page.']);
  });

  test('refuses what could not be used, naming field, value and bound', async () => {
    const { save, text, web } = await bench();
    const reply = await save([{ ...amps, value: 900 }]);
    expect(reply.status).toBe(422);
    expect(problemDocumentSchema.parse(reply.json()).problems).toMatchObject([
      { field: 'tanks[0].maxAmps', value: '900', bound: 'a number from 0.001 to 500 A' },
    ]);
    expect((await save([{ ...amps, path: ['tanks', 3, 'maxAmps'] }])).status).toBe(409);
    expect((await save([{ ...amps, kind: 'twist' }])).status).toBe(422);
    expect((await save([], '0'.repeat(64))).status).toBe(422);
    expect(text()).toBe(benchToml);
    expect(told(web.control)).toEqual([]);
  });

  test('is not written over what somebody else has written meanwhile: both are shown', async () => {
    const { save, show, text, folder } = await bench();
    const { hash } = await show();
    const theirs = benchToml.replace('maxAmps = 3', 'maxAmps = 1');
    writeFileSync(folder.file, theirs);
    const reply = await save([amps], hash);
    expect(reply.status).toBe(409);
    const document = problemDocumentSchema.parse(reply.json());
    expect(document.type).toBe('urn:nightbath:problem:stale');
    expect(document.problems).toMatchObject([
      { field: 'tanks[0].maxAmps', value: '2.5', bound: '1' },
    ]);
    expect(text()).toBe(theirs);
  });

  test('says what is wrong with it where it was spoiled by hand', async () => {
    const { show, folder } = await bench();
    writeFileSync(folder.file, benchToml.replace('maxAmps = 3', 'maxAmps = 0'));
    const { problems } = await show();
    expect(problems).toMatchObject([{ field: 'tanks[0].maxAmps', value: '0' }]);
  });

  test('tells on which tanks a run is, and changes nothing of that run', async () => {
    const { show, save, web } = await bench();
    const running = tankSnapshot({
      id: 'one',
      run: { lifecycle: 'holding' } as TankSnapshot['run'],
    });
    web.control.push({ type: 'tank', tank: running });
    expect((await show()).running).toEqual([running.name]);
    expect((await save([amps])).status).toBe(200);
    // Nothing but the note for the log has gone to control.
    const kinds = web.control.sent.map(({ command }) => command.kind);
    expect(new Set(kinds.filter((kind) => kind !== 'snapshot'))).toEqual(
      new Set(['settings-note']),
    );
  });

  test('shows in units that are in use at once', async () => {
    const { save, web } = await bench();
    const reply = await save([{ kind: 'set', path: ['units', 'density'], value: 'A/ft2' }]);
    expect(settingsSavedSchema.parse(reply.json()).waiting).toEqual([]);
    const snapshot = (await web.ask('GET', '/api/bench')).json();
    expect(snapshot).toMatchObject({ units: { density: 'A/ft2', length: 'mm', wire: 'mm' } });
  });
});

describe('where a phone finds the page', () => {
  test('is told with the addresses of this machine, and nowhere while it serves itself alone', async () => {
    const { show } = await bench();
    const { ownAddresses: offered, servedAt } = await show();
    expect(offered).toEqual(ownAddresses());
    expect(servedAt).toEqual([]);
  });

  test('is an address that answers, for those only who may control', async () => {
    const folder = temporaryFolder();
    const passphraseFile = join(folder, 'passphrases.json');
    writeHashes(passphraseFile);
    const toml = `${benchToml}\n[web]\nlisten = ["127.0.0.2"]\nhostNames = ["bench.home.arpa"]\n`;
    const { show, web } = await bench(toml, { passphraseFile });
    const { servedAt } = await show();
    expect(servedAt).toEqual([
      { url: `http://127.0.0.2:${web.port}`, present: true },
      { url: `http://bench.home.arpa:${web.port}`, present: true },
    ]);
    const url = servedAt[0]?.url ?? '';
    writeDashboard(web.dashboardFolder);
    expect((await fetch(url)).status).toBe(200);
    const host = new URL(url).host;
    const elsewhere = (
      method: string,
      path: string,
      body?: unknown,
      cookie: string | null = null,
    ) =>
      web.ask(method, path, {
        body,
        headers: { host, cookie, ...(method === 'POST' && { origin: `http://${host}` }) },
      });
    expect((await elsewhere('GET', '/api/settings/file')).status).toBe(401);
    for (const role of ['view', 'stop', 'control'] as const) {
      const signed = await elsewhere('POST', '/api/session', { passphrase: passphrases[role] });
      const asked = await elsewhere('GET', '/api/settings/file', undefined, cookieOf(signed));
      expect([role, asked.status]).toEqual([role, role === 'control' ? 200 : 403]);
      expect([role, asked.text.includes(url)]).toEqual([role, role === 'control']);
    }
  });
});

describe('the line and the sensors of a tank', () => {
  const serial = `${benchToml.replace('link = { kind = "in-process" }', '')}
[tanks.rectifier.link] # the long cable
kind = "serial"
path = "/dev/ttyUSB0" # left socket
baudRate = 9600
`;
  const link = (key: string) => ['tanks', 0, 'rectifier', 'link', key];
  const probe = {
    id: 'bath',
    name: 'Bath',
    kind: 'temperature',
    unit: '°C',
    link: { kind: 'serial', path: '/dev/ttyUSB1' },
    high: { value: 30, action: 'trip' },
  };

  test('are changed in place, comments and order kept', async () => {
    const { save, text, web } = await bench(serial);
    expect((await save([{ kind: 'set', path: link('path'), value: '/dev/ttyUSB7' }])).status).toBe(
      200,
    );
    expect(text()).toBe(serial.replace('/dev/ttyUSB0', '/dev/ttyUSB7'));
    expect(told(web.control)).toEqual([
      'Settings: tanks[one].rectifier.link.path from "/dev/ttyUSB0" to "/dev/ttyUSB7", by the page.',
    ]);
    const toNetwork = [
      { kind: 'remove', path: link('path') },
      { kind: 'remove', path: link('baudRate') },
      { kind: 'set', path: link('kind'), value: 'tcp' },
      { kind: 'set', path: link('host'), value: '192.0.2.40' },
      { kind: 'set', path: link('port'), value: 5025 },
    ];
    expect((await save(toNetwork)).status).toBe(200);
    expect(text()).toContain('[tanks.rectifier.link] # the long cable\nkind = "tcp"\n');
    expect(text()).toMatch(/host = "192\.0\.2\.40"\nport = 5025/);
  });

  test('are refused where they lead nowhere, naming field, value and bound', async () => {
    const { save, text } = await bench(serial);
    const reply = await save([{ kind: 'set', path: link('path'), value: 'ttyUSB0' }]);
    expect(reply.status).toBe(422);
    expect(problemDocumentSchema.parse(reply.json()).problems).toMatchObject([
      { field: 'tanks[0].rectifier.link.path', value: '"ttyUSB0"' },
    ]);
    expect(text()).toBe(serial);
  });

  test('a sensor is added, changed and taken out', async () => {
    const { save, text, show } = await bench(serial);
    const sensors = ['tanks', 0, 'sensors'];
    expect((await save([{ kind: 'add', path: sensors, value: probe }])).status).toBe(200);
    expect((await show()).data).toMatchObject({ tanks: [{ sensors: [probe] }] });
    const high = [...sensors, 0, 'high', 'value'];
    expect((await save([{ kind: 'set', path: high, value: 27 }])).status).toBe(200);
    const low = [...sensors, 0, 'low', 'value'];
    // The limit of that side was not there yet.
    expect((await save([{ kind: 'set', path: low, value: 18 }])).status).toBe(200);
    expect((await save([{ kind: 'set', path: low, value: 40 }])).status).toBe(422);
    expect((await show()).data).toMatchObject({
      tanks: [{ sensors: [{ low: { value: 18 }, high: { value: 27, action: 'trip' } }] }],
    });
    expect((await save([{ kind: 'remove', path: [...sensors, 0] }])).status).toBe(200);
    expect(text()).not.toContain('ttyUSB1');
  });

  test('and its name stay as they are while a run is on that tank, and say so', async () => {
    const { save, text, web } = await bench(serial);
    const run = { lifecycle: 'lifted' } as TankSnapshot['run'];
    web.control.push({ type: 'tank', tank: tankSnapshot({ id: 'one', run }) });
    for (const change of [
      { kind: 'set', path: link('path'), value: '/dev/ttyUSB7' },
      { kind: 'set', path: ['tanks', 0, 'name'], value: 'Another' },
      { kind: 'add', path: ['tanks', 0, 'sensors'], value: probe },
    ]) {
      const reply = await save([change]);
      expect([reply.status, reply.text]).toEqual([
        409,
        expect.stringContaining('while a run is on Tank one'),
      ]);
    }
    expect(text()).toBe(serial);
    const ended = { lifecycle: 'finished' } as TankSnapshot['run'];
    web.control.push({ type: 'tank', tank: tankSnapshot({ id: 'one', run: ended }) });
    const renamed = await save([{ kind: 'set', path: ['tanks', 0, 'name'], value: 'Another' }]);
    expect(renamed.status).toBe(200);
  });

  test.each([
    ['of a run that tripped', { lifecycle: 'tripped' } as TankSnapshot['run']],
    ['of a run of a former start', null],
  ])('stay as they are while the OFF %s is owed', async (_whose, run) => {
    const { save, text, web } = await bench(serial);
    const owed = tankSnapshot({ id: 'one', run, output: 'unknown', awaitsOff: true });
    web.control.push({ type: 'tank', tank: owed });
    const moved = { kind: 'set', path: link('path'), value: '/dev/ttyUSB7' };
    for (const change of [
      moved,
      { kind: 'set', path: ['tanks', 0, 'rectifier', 'expectIdentity'], value: 'ANOTHER' },
    ]) {
      const reply = await save([change]);
      expect([reply.status, reply.text]).toEqual([
        409,
        expect.stringContaining('is not read back as off'),
      ]);
    }
    expect(text()).toBe(serial);
    // A supply that was never reached, on a port that is wrong, owes nothing: that is when it is changed.
    const lost = tankSnapshot({ id: 'one', run, output: 'unknown' });
    web.control.push({ type: 'tank', tank: lost });
    expect((await save([moved])).status).toBe(200);
  });

  test('stay as they are while nothing is known of the tank, or control is away', async () => {
    const { save, text, web } = await bench(serial, {}, 'unread');
    const moved = { kind: 'set', path: link('path'), value: '/dev/ttyUSB7' };
    const unread = await save([moved]);
    expect([unread.status, unread.text]).toEqual([
      409,
      expect.stringContaining('not known what its output does'),
    ]);
    web.control.push({ type: 'tank', tank: tankSnapshot({ id: 'one' }) });
    web.control.turn(false);
    expect((await save([moved])).status).toBe(409);
    expect(text()).toBe(serial);
  });
});

describe('secrets', () => {
  test('go into files of their own and are never given back', async () => {
    const { save, show, web, folder, text } = await bench();
    const reply = await save([{ kind: 'add', path: ['alerts', 'channels'], value: phone }]);
    expect(reply.status).toBe(200);
    expect(text()).not.toMatch(/token-that|also-hidden/);
    const files = readdirSync(join(folder.path, 'secrets'));
    const kept = files.map((name) => readFileSync(join(folder.path, 'secrets', name), 'utf8'));
    expect(kept.toSorted()).toEqual([
      'Bearer also-hidden\n',
      'https://push.example/token-that-nobody-sees\n',
    ]);
    for (const name of files) {
      expect(statSync(join(folder.path, 'secrets', name)).mode & 0o777).toBe(0o600);
    }
    const shown = await web.ask('GET', '/api/settings/file');
    expect(shown.text).not.toMatch(/token-that|also-hidden|secrets\//);
    expect((await show()).data).toMatchObject({
      alerts: { channels: [{ name: 'phone', url: { set: true, in: 'file' } }] },
    });
    expect(told(web.control).join('')).not.toMatch(/token-that|also-hidden/);
  });

  test('are hidden too where they stand in the settings themselves', async () => {
    const { web } = await bench(
      `${benchToml}\n[[alerts.channels]]\nname = "p"\nkind = "webhook"\nurl = "https://push.example/in-the-file"\nheaders = { X = "plain-header" }\n`,
    );
    const { text } = await web.ask('GET', '/api/settings/file');
    expect(text).not.toMatch(/in-the-file|plain-header/);
  });

  test.each([
    ['one table for a list', '[alerts.channels]\nname = "p"\npassword = "hunter2"'],
    ['a list for one table', '[[alerts]]\n[[alerts.channels]]\npassword = "hunter2"'],
    ['a text for a table', 'alerts = "hunter2"'],
    ['a text in the list', '[alerts]\nchannels = ["hunter2"]'],
    ['a key that is not known', '[[alerts.channels]]\nname = "p"\npasswort = "hunter2"'],
    ['a table for a text', '[[alerts.channels]]\nname = "p"\nhost = { password = "hunter2" }'],
    ['headers in a list', '[[alerts.channels]]\nname = "p"\nheaders = [{ X = "hunter2" }]'],
    ['one channel beside the list', '[alerts.channel]\npassword = "hunter2"'],
    ['an address for a table', '[alerts]\ndeadMan = "https://hunter2.example/"'],
  ])('are hidden too where they were written wrongly: %s', async (_mistake, toml) => {
    const { web, folder, show } = await bench();
    // Written by hand since the start; before the first table there is room for keys of none.
    const mistaken = toml.startsWith('[') ? `${benchToml}\n${toml}\n` : `${toml}\n${benchToml}`;
    writeFileSync(folder.file, mistaken);
    const { status, text } = await web.ask('GET', '/api/settings/file');
    expect(status).toBe(200);
    expect(Object.keys(Object((await show()).data))).toContain('alerts');
    expect(text).not.toContain('hunter2');
  });

  test('leave nothing behind where the settings are refused', async () => {
    const { save, folder } = await bench();
    const value = { ...phone, name: 'a name that is much longer than any channel may ever have' };
    expect((await save([{ kind: 'add', path: ['alerts', 'channels'], value }])).status).toBe(422);
    const left = join(folder.path, 'secrets');
    expect(existsSync(left) ? readdirSync(left) : []).toEqual([]);
  });

  test('stay once the settings that name them are written, whatever fails after that', async () => {
    const { save, web, folder, text } = await bench();
    web.control.command = () => {
      throw new Error('The line to control is gone.');
    };
    const reply = await save([{ kind: 'add', path: ['alerts', 'channels'], value: phone }]);
    expect(reply.status).toBe(500);
    const names = readdirSync(join(folder.path, 'secrets'));
    expect(names).toHaveLength(2);
    for (const name of names) expect(text()).toContain(`secrets/${name}`);
  });

  test('in headers are replaced one by one, and a body is changed beside them', async () => {
    const { save, show, text, folder } = await bench();
    await save([{ kind: 'add', path: ['alerts', 'channels'], value: phone }]);
    const at = (...rest: readonly string[]) => ['alerts', 'channels', 0, ...rest];
    const kept = { Authorization: { set: true, in: 'file' } };
    expect((await show()).data).toMatchObject({ alerts: { channels: [{ headers: kept }] } });
    const reply = await save([
      { kind: 'set', path: at('headers', 'Authorization'), value: { secret: 'Bearer newer' } },
      { kind: 'set', path: at('headers', 'X-Priority'), value: '{priority}' },
      { kind: 'set', path: at('body'), value: '{title}: {text}' },
    ]);
    expect([reply.status, reply.text.includes('newer')]).toEqual([200, false]);
    expect(text()).not.toContain('newer');
    expect(text()).toContain('{title}: {text}');
    const files = readdirSync(join(folder.path, 'secrets')).map((name) =>
      readFileSync(join(folder.path, 'secrets', name), 'utf8'),
    );
    expect(files).toContain('Bearer newer\n');
    const shown = JSON.stringify((await show()).data);
    expect(shown).not.toContain('{priority}');
    expect(shown).toContain('{title}: {text}');
    // A header of the request itself is nobody's to set, and a body has to make sense.
    const own = await save([{ kind: 'set', path: at('headers', 'Host'), value: 'x' }]);
    expect(own.status).toBe(422);
    const nonsense = await save([{ kind: 'set', path: at('body'), value: '{who}' }]);
    expect([nonsense.status, nonsense.text]).toEqual([422, expect.stringContaining('body')]);
    const gone = await save([{ kind: 'remove', path: at('headers', 'X-Priority') }]);
    expect(gone.status).toBe(200);
  });

  test('do not follow an address that is changed', async () => {
    const { save } = await bench();
    await save([{ kind: 'add', path: ['alerts', 'channels'], value: phone }]);
    const url = ['alerts', 'channels', 0, 'url'];
    const moved = await save([{ kind: 'set', path: url, value: 'https://elsewhere.example/' }]);
    expect([moved.status, moved.text]).toEqual([422, expect.stringContaining('typed anew')]);
    const variable = { ...phone, name: 'q', url: { environment: 'HOME' }, headers: {} };
    const taken = await save([{ kind: 'add', path: ['alerts', 'channels'], value: variable }]);
    expect(taken.status).toBe(422);
    const named = await save([
      { kind: 'set', path: ['alerts', 'channels', 0, 'name'], value: 'bedside' },
    ]);
    expect(named.status).toBe(200);
  });
});

describe('what is not for the page', () => {
  test.each([
    [['alerts', 'channels'], { name: 'x', kind: 'command', program: '/bin/sh' }, 'add'],
    [['tanks', 0, 'rectifier', 'driver'], '/tmp/driver.js', 'set'],
    [['database', 'file'], '/tmp/runs.sqlite', 'set'],
    [['web', 'tls'], { certFile: '/a', keyFile: '/b' }, 'set'],
    [['tanks', 0], { id: 'one', rectifier: { driver: '/tmp/driver.js' } }, 'set'],
    [['anything'], 1, 'set'],
  ])('%j is changed by hand only', async (path, value, kind) => {
    const { save, text } = await bench();
    const reply = await save([{ kind, path, value }]);
    expect([reply.status, reply.text]).toEqual([403, expect.stringContaining('by hand')]);
    expect(text()).toBe(benchToml);
  });

  test('who gets in is changed at the bench only', async () => {
    const { save, show, web, text } = await bench();
    const elsewhere = { 'x-forwarded-for': '192.0.2.9' };
    const change = { kind: 'set', path: ['web', 'listen'], value: ['192.0.2.20'] };
    // Through something in between, the one who asks may be anywhere: without a session nothing is shown.
    expect((await save([change], '0'.repeat(64), elsewhere)).status).toBe(401);
    const body = { role: 'control', passphrase: 'a long enough passphrase' };
    const refused = await web.ask('POST', '/api/settings/passphrase', { body, headers: elsewhere });
    expect(refused.status).toBe(401);
    // At the bench it needs the passphrase first.
    expect((await save([change])).status).toBe(422);
    expect((await web.ask('POST', '/api/settings/passphrase', { body })).status).toBe(200);
    expect((await save([change])).status).toBe(200);
    expect(text()).toContain('listen = ["192.0.2.20"]');
    expect(told(web.control).join(' ')).toContain(
      'The passphrase for control was set by the page.',
    );
    expect(told(web.control).join(' ')).not.toContain('long enough');
    // It is saved and waits for a start: the passphrase has to stay for that.
    const gone = { body: { role: 'control', passphrase: null } };
    const kept = await web.ask('POST', '/api/settings/passphrase', gone);
    expect([kept.status, kept.text]).toEqual([422, expect.stringContaining('has to stay')]);
    expect((await show()).passphrases).toEqual(['control']);
    expect((await save([{ ...change, value: [] }])).status).toBe(200);
    expect((await web.ask('POST', '/api/settings/passphrase', gone)).status).toBe(200);
    expect((await show()).passphrases).toEqual([]);
  });

  test('a passphrase has its bounds, and is another one for each role', async () => {
    const { web, show } = await bench();
    const put = (role: string, passphrase: string | null) =>
      web.ask('POST', '/api/settings/passphrase', { body: { role, passphrase } });
    expect((await put('view', 'short')).status).toBe(422);
    expect((await put('boss', 'a long enough passphrase')).status).toBe(422);
    expect((await put('view', 'a long enough passphrase')).status).toBe(200);
    const same = await put('control', 'a long enough passphrase');
    expect([same.status, same.text]).toEqual([422, expect.stringContaining('for view already')]);
    expect((await show()).passphrases).toEqual(['view']);
    expect((await put('view', null)).status).toBe(200);
    expect((await show()).passphrases).toEqual([]);
  });
});

describe('a take-over', () => {
  test('goes to control with who asked, and its refusal comes back', async () => {
    const { web } = await bench();
    web.control.answer = async () => ({
      ok: false,
      code: 'refused',
      reason: 'A run is on Tank one.',
      problems: [],
    });
    const reply = await web.ask('POST', '/api/settings/take-over', { body: {} });
    expect([reply.status, reply.text]).toEqual([409, expect.stringContaining('A run is on')]);
    expect(web.control.sent.at(-1)?.command).toEqual({ kind: 'take-settings', by: 'the page' });
  });
});

describe('the figures of a bath', () => {
  const path = '/api/settings/baths/trial-copper';
  const most = ['window', 'maxAmpsPerDm2'];

  test("are changed in the maker's own file, with the rest of it as it was", async () => {
    const { web, folder, show } = await bench();
    const file = join(folder.path, 'baths', 'trial-copper.toml');
    const before = readFileSync(file, 'utf8');
    const { hash } = bathFileSchema.parse((await web.ask('GET', path)).json());
    const changes = [{ kind: 'set', path: most, value: 2.5 }];
    expect((await web.ask('POST', path, { body: { hash, changes } })).status).toBe(200);
    expect(readFileSync(file, 'utf8')).toBe(
      before.replace('maxAmpsPerDm2 = 3', 'maxAmpsPerDm2 = 2.5'),
    );
    expect((await show()).waiting).toContain('baths[trial-copper].window.maxAmpsPerDm2');
    expect(told(web.control)).toEqual([
      'Settings: baths[trial-copper].window.maxAmpsPerDm2 from 3 to 2.5, by the page.',
    ]);
    // The same once more was made for a text that is no more.
    expect((await web.ask('POST', path, { body: { hash, changes } })).status).toBe(409);
  });

  test('of a shipped bath are copied into a file of the maker first', async () => {
    const { web, folder } = await bench();
    const shipped = '/api/settings/baths/watts-nickel';
    const { hash, file, target } = bathFileSchema.parse((await web.ask('GET', shipped)).json());
    expect([file === target, target]).toEqual([
      false,
      join(folder.path, 'baths', 'watts-nickel.toml'),
    ]);
    const changes = [{ kind: 'set', path: ['loading', 'maxAmpsPerLitre'], value: 0.8 }];
    expect((await web.ask('POST', shipped, { body: { hash, changes } })).status).toBe(200);
    const text = readFileSync(file, 'utf8');
    expect(readFileSync(target, 'utf8')).toBe(
      text.replace(/maxAmpsPerLitre = .*/, 'maxAmpsPerLitre = 0.8'),
    );
    expect(readFileSync(file, 'utf8')).toBe(text);
  });

  test.each([
    [most, -1, 422],
    [most, 0.1, 422],
    [['id'], 'another', 403],
    [['metal'], 'gold', 403],
    [['anything'], 1, 403],
  ])('%j as %j is refused', async (place, value, status) => {
    const { web, folder } = await bench();
    const file = join(folder.path, 'baths', 'trial-copper.toml');
    const before = readFileSync(file, 'utf8');
    const { hash } = bathFileSchema.parse((await web.ask('GET', path)).json());
    const body = { hash, changes: [{ kind: 'set', path: place, value }] };
    const reply = await web.ask('POST', path, { body });
    expect(reply.status).toBe(status);
    expect(readFileSync(file, 'utf8')).toBe(before);
  });

  test('are none where there is no such bath', async () => {
    const { web } = await bench();
    expect((await web.ask('GET', '/api/settings/baths/moon-dust')).status).toBe(422);
    expect((await web.ask('GET', '/api/settings/baths/..%2F..%2Fbench')).status).toBe(404);
  });
});
