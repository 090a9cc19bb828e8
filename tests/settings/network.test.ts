/** The page on the network: what the settings must say, and what has to be in place before it starts. */

import { chmodSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import {
  hashPassphrase,
  loadSettings,
  matchesPassphrase,
  packageRoot,
  passphraseFile,
  passphraseProblem,
  readPassphrases,
  readTls,
  requirePassphrase,
  SettingsError,
  tlsWarning,
  writePassphrases,
} from '../../daemon/settings/door.ts';
import { certificate } from '../web/certificate.ts';
import { BenchFolder, benchToml } from './bench-folder.ts';

const folder = new BenchFolder();
afterAll(() => folder.remove());

function withWeb(lines: string): string {
  return `${benchToml}\n[web]\n${lines}\n`;
}

describe('[web]', () => {
  it('left out serves this machine only, in plain http, without a sign-in', () => {
    expect(folder.load(benchToml).settings.web).toEqual({
      listen: [],
      hostNames: [],
      signInHere: false,
      tls: null,
    });
  });

  it('takes addresses, names and files, the files from the settings on', () => {
    const { settings } = folder.load(
      withWeb(
        'listen = ["192.0.2.20", "2001:db8::20"]\nhostNames = ["bench.home.arpa"]\nsignInHere = true\n' +
          'tls = { certFile = "a.pem", keyFile = "/b.pem" }',
      ),
    );
    expect(settings.web).toEqual({
      listen: ['192.0.2.20', '2001:db8::20'],
      hostNames: ['bench.home.arpa'],
      signInHere: true,
      tls: { certFile: join(folder.path, 'a.pem'), keyFile: '/b.pem', hstsDays: 0 },
    });
  });

  it.each([
    ['a name as an address', 'listen = ["bench.home.arpa"]', 'web.listen[0]'],
    ['an address with a port', 'listen = ["192.0.2.20:80"]', 'web.listen[0]'],
    ['an address with a zone', 'listen = ["fe80::1%eth0"]', 'web.listen[0]'],
    ['nine addresses', `listen = [${'"192.0.2.1",'.repeat(9)}]`, 'web.listen'],
    ['a name with a scheme', 'hostNames = ["http://bench"]', 'web.hostNames[0]'],
    ['a name with a port', 'hostNames = ["bench:80"]', 'web.hostNames[0]'],
    ['a name with a star', 'hostNames = ["*.home.arpa"]', 'web.hostNames[0]'],
    ['a name in capitals', 'hostNames = ["Bench"]', 'web.hostNames[0]'],
    ['every address without a name', 'listen = ["0.0.0.0"]', 'web.hostNames'],
    ['a passphrase in clear', 'passphrase = "thimble oak winter"', 'web.passphrase'],
    ['a certificate without its key', 'tls = { certFile = "a.pem" }', 'web.tls.keyFile'],
  ])('refuses %s and names the field', (_what, lines, field) => {
    expect(folder.refusals(withWeb(lines)).map((problem) => problem.field)).toEqual([field]);
  });

  it('stands in the shipped file as an example that loads once the # is taken away', () => {
    const shipped = readFileSync(join(packageRoot(), 'config', 'bench.toml'), 'utf8').split('\n');
    const from = shipped.indexOf('# [web]');
    const to = shipped.indexOf('# [database]');
    const lines = shipped
      .slice(from, to)
      .filter((line) => /^# (?:\[|\w+ = )/.test(line))
      .map((line) => line.slice(2));
    const { web } = folder.load(`${benchToml}\n${lines.join('\n')}`).settings;
    expect(web.listen).toHaveLength(1);
    expect(web.tls?.hstsDays).toBe(0);
  });
});

describe('a passphrase', () => {
  // RFC 7914, section 12: scrypt (P="pleaseletmein", S="SodiumChloride", N=16384, r=8, p=1).
  const known =
    '7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2' +
    'd5432955613f0fcf62d49705242a9af9e61e85dc0d651e40dfcf017b45575887';

  it('is hashed by scrypt as RFC 7914 has it', async () => {
    const salt = Buffer.from('SodiumChloride').toString('base64').replaceAll('=', '');
    const hash = Buffer.from(known, 'hex').toString('base64').replaceAll('=', '');
    const kept = `$scrypt$ln=14,r=8,p=1$${salt}$${hash}`;
    expect(await matchesPassphrase('pleaseletmein', kept)).toBe(true);
    expect(await matchesPassphrase('pleaseletmeim', kept)).toBe(false);
  });

  it('is hashed anew each time, and both hashes match it', async () => {
    const one = await hashPassphrase('thimble oak winter');
    const two = await hashPassphrase('thimble oak winter');
    expect(one).toMatch(/^\$scrypt\$ln=15,r=8,p=3\$/);
    expect(one).not.toBe(two);
    expect(await matchesPassphrase('thimble oak winter', one)).toBe(true);
    expect(await matchesPassphrase('thimble oak winte', two)).toBe(false);
  });

  it.each([
    ['one of eleven characters', 'elevenchars', '11 characters; it must have 12 to 256'],
    ['one of 257', 'ab cd ef gh'.repeat(24).slice(0, 257), '257 characters'],
    ['a bell in it', 'thimble \u0007 oak winter', 'control characters'],
    ['the same letter over and over', 'aaaaaaaaaaaaaaaa', '5 different characters'],
  ])('is not taken with %s', (_what, passphrase, words) => {
    expect(passphraseProblem(passphrase)).toContain(words);
  });

  it('of twelve characters is taken', () => {
    expect(passphraseProblem('twelve chars')).toBeNull();
  });
});

describe('the file of the passphrases', () => {
  const file = join(folder.path, 'state', 'passphrases.json');

  it('is for its owner only, and reads back as it was written', async () => {
    const control = await hashPassphrase('thimble oak winter');
    writePassphrases(file, { control });
    expect(statSync(file).mode & 0o777).toBe(0o600);
    expect(readPassphrases(file)).toEqual({ control });
    // Written over a file that was open to all, it is closed to them again.
    chmodSync(file, 0o644);
    writePassphrases(file, { control });
    expect(statSync(file).mode & 0o777).toBe(0o600);
  });

  it('that is not there holds nothing', () => {
    expect(readPassphrases(join(folder.path, 'none.json'))).toEqual({});
  });

  it.each([
    ['is not JSON', '{'],
    ['holds a passphrase in clear', '{"version":1,"roles":{"control":"thimble oak winter"}}'],
    ['names a role that there is not', '{"version":1,"roles":{"root":"$scrypt$"}}'],
    [
      'asks for more memory than there is',
      '{"version":1,"roles":{"control":"$scrypt$ln=30,r=8,p=1$c2FsdHNhbHQ$aGFzaGhhc2hoYXNoaGFzaGhhc2hoYXNoaGFzaGhhc2g"}}',
    ],
    ['is of another version', '{"version":2,"roles":{}}'],
  ])('is refused when it %s', (_what, text) => {
    writeFileSync(file, text);
    expect(() => readPassphrases(file)).toThrow(SettingsError);
    expect(() => readPassphrases(file)).toThrow(/passphrases\.json: .*nightbath passphrase/);
  });
});

describe('the page on the network without a passphrase', () => {
  it.each([
    ['listen = ["192.0.2.20"]', 'web.listen'],
    ['hostNames = ["bench.home.arpa"]', 'web.hostNames'],
    ['signInHere = true', 'web.signInHere'],
  ])('with %s is refused, and served once one is set', async (lines, field) => {
    const env = { HOME: folder.path, STATE_DIRECTORY: join(folder.path, field) };
    folder.write('bench.toml', withWeb(lines));
    const { settings, file } = loadSettings({ configPath: folder.file, env });
    expect(() => requirePassphrase(settings, file, env)).toThrow(
      new RegExp(`${field.replace('.', '\\.')} is set, but no passphrase for control is`),
    );
    // One for looking on does not do: nobody could start, or sign the others out.
    const view = await hashPassphrase('walnut lamp river');
    writePassphrases(passphraseFile(settings, env), { view });
    expect(() => requirePassphrase(settings, file, env)).toThrow(SettingsError);
    writePassphrases(passphraseFile(settings, env), { control: view });
    requirePassphrase(settings, file, env);
  });
});

describe('[web.tls]', () => {
  function files(name: string): { certFile: string; keyFile: string } {
    const { cert, key } = certificate('bench.test', 2);
    return {
      certFile: folder.write(`${name}.pem`, cert),
      keyFile: folder.write(`${name}.key`, key),
    };
  }
  const good = files('good');
  const other = files('other');

  it('takes a certificate with its key', () => {
    const pair = readTls({ ...good, hstsDays: 0 }, '/bench.toml');
    expect(pair.cert).toContain('BEGIN CERTIFICATE');
    expect(tlsWarning(pair, Date.now() + 60_000)).toBeNull();
    expect(tlsWarning(pair, Date.now() + 3 * 86_400_000)).toContain('ended on');
    expect(tlsWarning(pair, Date.now() - 86_400_000)).toContain('begins on');
  });

  it.each([
    ['a certificate that is not there', { certFile: '/nowhere.pem' }, /certFile .*cannot be read/],
    ['a key that is not there', { keyFile: '/nowhere.key' }, /keyFile .*cannot be read/],
    ['the key of another', { keyFile: other.keyFile }, /keyFile .*not the one of the certificate/],
    ['a key as the certificate', { certFile: good.keyFile }, /certFile .*no certificate/],
    ['a certificate as the key', { keyFile: good.certFile }, /keyFile .*no private key/],
    ['settings as the certificate', { certFile: folder.file }, /certFile .*no certificate/],
  ])('refuses %s by name', (_what, change, message) => {
    expect(() => readTls({ ...good, hstsDays: 0, ...change }, '/bench.toml')).toThrow(message);
  });
});
