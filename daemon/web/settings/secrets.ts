/** Secrets of the settings: hidden where they are shown, kept in files of their own where they are new. */

import { randomBytes } from 'node:crypto';
import { rmSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { writePrivateFile } from '../../settings/door.ts';
import type { ChannelSettings, Settings, TextOrSecret } from '../../settings/model.ts';
import { newSecretSchema } from '../../wire/settings.ts';
import { ProblemError } from '../problem.ts';

type Json = unknown;

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function hidden(value: unknown): Json {
  const place = isObject(value) ? ('environment' in value ? 'environment' : 'file') : 'settings';
  return { set: true, in: place };
}

/**
 * What a channel shows. A web address may hold a token in any part of it; a header, an argument, and
 * whatever stands under a key that is not known may be a secret.
 */
const shownKeys = new Set([
  'name',
  'kind',
  'leastPriority',
  'host',
  'port',
  'security',
  'user',
  'from',
  'to',
  'certificateFile',
  'format',
  'body',
  'program',
  'timeoutSeconds',
]);

const isPlain = (value: unknown): boolean => typeof value !== 'object' || value === null;

function isShown(key: string, value: unknown): boolean {
  if (key === 'priorityWords') return isObject(value) && Object.values(value).every(isPlain);
  return shownKeys.has(key) && (Array.isArray(value) ? value.every(isPlain) : isPlain(value));
}

function hideIn(channel: unknown): Json {
  if (!isObject(channel)) return hidden(channel);
  return Object.fromEntries(
    Object.entries(channel).map(([key, value]) => {
      if (isShown(key, value)) return [key, json(value)];
      if (key !== 'headers' || !isObject(value)) return [key, hidden(value)];
      return [
        key,
        Object.fromEntries(Object.keys(value).map((name) => [name, hidden(value[name])])),
      ];
    }),
  );
}

function json(value: unknown): Json {
  if (value === null || typeof value === 'string' || typeof value === 'boolean') return value;
  if (typeof value === 'number') return Number.isFinite(value) ? value : String(value);
  if (Array.isArray(value)) return value.map(json);
  if (value instanceof Date) return value.toISOString();
  if (!isObject(value)) return typeof value;
  return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, json(one)]));
}

function alertsWithoutSecrets(alerts: unknown): Json {
  if (!isObject(alerts)) return hidden(alerts);
  return Object.fromEntries(
    Object.entries(alerts).map(([key, value]) => {
      if (key === 'channels' && Array.isArray(value)) return [key, value.map(hideIn)];
      return [key, key === 'deadMan' ? hideIn(value) : hidden(value)];
    }),
  );
}

/** The data of a settings file with nothing secret in it; what has another shape under alerts is hidden whole. */
export function withoutSecrets(data: unknown): Json {
  if (!isObject(data)) return json(data);
  return Object.fromEntries(
    Object.entries(data).map(([key, value]) => [
      key,
      key === 'alerts' ? alertsWithoutSecrets(value) : json(value),
    ]),
  );
}

/** New secrets of one request: written before the settings that name them, and gone where these fail. */
export class SecretFiles {
  readonly #folder: string;
  readonly #written: string[] = [];

  /** `settingsFile` is the one that will name them. */
  constructor(settingsFile: string) {
    this.#folder = dirname(settingsFile);
  }

  /** The value with each new secret in it replaced by where it is kept now. */
  place(value: unknown): unknown {
    if (Array.isArray(value)) return value.map((one) => this.place(one));
    if (!isObject(value)) return value;
    const secret = newSecretSchema.safeParse(value);
    if (secret.success) return this.#keep(secret.data.secret);
    return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, this.place(one)]));
  }

  #keep(secret: string): { readonly file: string } {
    if (/\p{Cc}/u.test(secret)) {
      const bound = 'text of 1 to 1000 characters on one line';
      const message = `The secret holds a line end or another control sign; it must be ${bound}.`;
      const problem = { field: 'secret', value: 'not shown here', bound, message };
      throw new ProblemError('invalid', message, [problem]);
    }
    const file = `secrets/${randomBytes(6).toString('hex')}`;
    const path = join(this.#folder, file);
    try {
      writePrivateFile(path, `${secret}\n`);
    } catch (error) {
      const reason = error instanceof Error ? error.message : String(error);
      throw new ProblemError('unavailable', `The secret cannot be written to ${path}: ${reason}`);
    }
    this.#written.push(path);
    return { file };
  }

  isNew(source: TextOrSecret): boolean {
    return typeof source !== 'string' && 'file' in source && this.#written.includes(source.file);
  }

  /** The settings were not saved: what was written for them goes. */
  drop(): void {
    for (const path of this.#written) rmSync(path, { force: true });
  }
}

/** Where a channel sends what it holds. */
function destination(channel: ChannelSettings): string {
  if (channel.kind === 'email') return `${channel.host} ${channel.port} ${channel.security}`;
  return channel.kind === 'webhook' ? JSON.stringify(channel.url) : channel.kind;
}

function secretsOf(channel: ChannelSettings): readonly TextOrSecret[] {
  if (channel.kind === 'email') return channel.password === null ? [] : [channel.password];
  if (channel.kind !== 'webhook') return [];
  const values = [channel.url, ...Object.values(channel.headers)];
  return values.filter((value) => typeof value !== 'string');
}

/**
 * A secret that is kept goes only where it went before: else a page that may change an address could
 * have every secret of this computer sent to it. Throws a ProblemError.
 */
export function keepSecretsHome(before: Settings, after: Settings, fresh: SecretFiles): void {
  const known = new Set(
    before.alerts.channels.flatMap((channel) =>
      secretsOf(channel).map((secret) => `${destination(channel)} ${JSON.stringify(secret)}`),
    ),
  );
  for (const [index, channel] of after.alerts.channels.entries()) {
    for (const secret of secretsOf(channel)) {
      const same = known.has(`${destination(channel)} ${JSON.stringify(secret)}`);
      if (same || fresh.isNew(secret)) continue;
      throw typeAgain(`alerts.channels[${index}]`);
    }
  }
  const dead = after.alerts.deadMan?.url;
  if (dead === undefined || typeof dead === 'string' || fresh.isNew(dead)) return;
  if (JSON.stringify(dead) !== JSON.stringify(before.alerts.deadMan?.url)) {
    throw typeAgain('alerts.deadMan');
  }
}

function typeAgain(field: string): ProblemError {
  const bound = 'typed anew';
  const message =
    `Where ${field} sends to has changed, or where its secret is kept. Its password, headers and ` +
    'address have to be typed anew here, or be changed in the file by hand.';
  return new ProblemError('invalid', message, [{ field, value: 'not shown here', bound, message }]);
}
