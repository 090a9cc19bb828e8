/** What has to be in place before the page is served to others: passphrases, and sound TLS files. */

import { createPrivateKey, X509Certificate } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { createSecureContext } from 'node:tls';
import type { Settings, TlsSettings } from './model.ts';
import { passphraseFile } from './places.ts';
import { readPassphrases } from './passphrases.ts';
import { SettingsError } from './problems.ts';
import type { SettingsProblem } from './problems.ts';

/** Certificate and key as they are handed to the server, PEM. */
export interface TlsPair {
  readonly cert: string;
  readonly key: string;
}

/** True where browsers of other machines, or everybody, have to sign in. */
export function needsPassphrase({ web }: Settings): boolean {
  return web.listen.length > 0 || web.hostNames.length > 0 || web.signInHere;
}

/** Throws a SettingsError where the page would be open to others without a passphrase for control. */
export function requirePassphrase(
  settings: Settings,
  settingsFile: string,
  env: NodeJS.ProcessEnv = process.env,
): void {
  const file = passphraseFile(settings, env);
  const { control } = readPassphrases(file);
  if (!needsPassphrase(settings) || control !== undefined) return;
  const { web } = settings;
  const field =
    web.listen.length > 0
      ? 'web.listen'
      : web.hostNames.length > 0
        ? 'web.hostNames'
        : 'web.signInHere';
  const bound = 'left out, or a passphrase set';
  const message =
    `${field} is set, but no passphrase for control is (looked for in ${file}). ` +
    'Set one on the Setup page, under Access, or with "nightbath passphrase"; or take the key out.';
  throw new SettingsError([
    { file: settingsFile, line: null, field, value: 'set', bound, message },
  ]);
}

/** The files of `[web.tls]`, read and held against one another; throws a SettingsError that says what is wrong. */
export function readTls(tls: TlsSettings, settingsFile: string): TlsPair {
  const wrong = (field: 'certFile' | 'keyFile', why: string): SettingsError => {
    const value = JSON.stringify(tls[field]);
    const message = `web.tls.${field} is ${value}: ${why}.`;
    const problem: SettingsProblem = {
      file: settingsFile,
      line: null,
      field: `web.tls.${field}`,
      value,
      bound: 'a sound PEM file',
      message,
    };
    return new SettingsError([problem]);
  };
  const read = (field: 'certFile' | 'keyFile'): string => {
    try {
      return readFileSync(tls[field], 'utf8');
    } catch (error) {
      throw wrong(field, `it cannot be read (${reason(error)})`);
    }
  };
  const cert = read('certFile');
  const key = read('keyFile');
  let certificate: X509Certificate;
  try {
    certificate = new X509Certificate(cert);
  } catch {
    throw wrong('certFile', 'it holds no certificate in PEM');
  }
  let privateKey: ReturnType<typeof createPrivateKey>;
  try {
    privateKey = createPrivateKey(key);
  } catch {
    throw wrong('keyFile', 'it holds no private key in PEM that can be read without a password');
  }
  if (!certificate.checkPrivateKey(privateKey)) {
    throw wrong('keyFile', 'this key is not the one of the certificate');
  }
  try {
    createSecureContext({ cert, key });
  } catch (error) {
    throw wrong('certFile', `it cannot be used (${reason(error)})`);
  }
  return { cert, key };
}

function reason(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** A sentence where the certificate is past its time or not yet in it; browsers refuse such a page. */
export function tlsWarning({ cert }: TlsPair, nowMs: number): string | null {
  const { validFrom, validTo } = new X509Certificate(cert);
  if (nowMs > Date.parse(validTo)) return `The certificate of the page ended on ${validTo}.`;
  if (nowMs < Date.parse(validFrom)) return `The certificate of the page begins on ${validFrom}.`;
  return null;
}
