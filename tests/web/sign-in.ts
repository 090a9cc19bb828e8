/** A web process that others may reach: passphrases for all three roles, and people who sign in. */

import { scryptSync } from 'node:crypto';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Role } from '../../daemon/wire/roles.ts';
import { settings, temporaryFolder, webUnderTest } from './fixture.ts';
import type { AskOptions, AtEnd, Reply, WebChange, WebUnderTest } from './fixture.ts';

export const passphrases: Readonly<Record<Role, string>> = {
  view: 'walnut lamp river',
  stop: 'kettle moss anchor',
  control: 'thimble oak winter',
};

/** As the program writes them, but as cheap as it takes them: many tests sign in. */
export function cheapHash(passphrase: string, salt = 'a salt of its own'): string {
  const options = { N: 2 ** 14, r: 8, p: 1, maxmem: 64 * 1024 * 1024 };
  const hash = scryptSync(passphrase.normalize('NFKC'), salt, 32, options);
  const plain = (bytes: Buffer): string => bytes.toString('base64').replaceAll('=', '');
  return `$scrypt$ln=14,r=8,p=1$${plain(Buffer.from(salt))}$${plain(hash)}`;
}

const hashes = {
  view: cheapHash(passphrases.view),
  stop: cheapHash(passphrases.stop),
  control: cheapHash(passphrases.control),
};

export function writeHashes(file: string, roles: Partial<Record<Role, string>> = hashes): void {
  writeFileSync(file, JSON.stringify({ version: 1, roles }), { mode: 0o600 });
}

export interface GuardedWeb extends WebUnderTest {
  readonly folder: string;
  /** The name that only others use; a browser on the machine of the bench has no need of it. */
  readonly name: string;
  /** Asks as a browser elsewhere would, with a cookie where one is given. */
  askFrom(cookie: string | null, method: string, path: string, more?: AskOptions): Promise<Reply>;
  signIn(role: Role, name?: string): Promise<string>;
}

/** A name that is allowed and is not this machine's own: whoever uses it has to sign in. */
export const otherName = 'bench.test';

export async function guardedWeb(change: WebChange = {}, atEnd?: AtEnd): Promise<GuardedWeb> {
  const folder = temporaryFolder(atEnd);
  const passphraseFile = join(folder, 'passphrases.json');
  writeHashes(passphraseFile);
  const web = await webUnderTest(
    {
      passphraseFile,
      sessionFile: join(folder, 'sessions.json'),
      settings: { ...settings, web: { ...settings.web, hostNames: [otherName] } },
      ...change,
    },
    atEnd,
  );
  const name = `${otherName}:${web.port}`;
  const askFrom: GuardedWeb['askFrom'] = (cookie, method, path, more = {}) => {
    const changes = !['GET', 'HEAD'].includes(method);
    const headers = {
      host: name,
      ...(changes && { origin: `http://${name}` }),
      ...(cookie !== null && { cookie }),
      ...more.headers,
    };
    return web.ask(method, path, { ...more, headers });
  };
  const signIn: GuardedWeb['signIn'] = async (role, person) => {
    const body = { passphrase: passphrases[role], ...(person !== undefined && { name: person }) };
    const reply = await askFrom(null, 'POST', '/api/session', { body });
    if (reply.status !== 200) throw new Error(`${reply.status} ${reply.text}`);
    return cookieOf(reply);
  };
  return { ...web, folder, name, askFrom, signIn };
}

/** The cookie of an answer as a browser would send it back. */
export function cookieOf(reply: Reply): string {
  return (reply.headers['set-cookie']?.[0] ?? '').split(';')[0] ?? '';
}
