/** Reads secrets when they are needed, and takes them out of everything that is written anywhere. */

import { readFileSync, statSync } from 'node:fs';
import type { ChannelSettings, SecretSource, TextOrSecret } from '../../settings/model.ts';

/** Why a channel cannot be used, or did not take a message; holds nothing secret. */
export class ChannelError extends Error {
  override readonly name = 'ChannelError';
}

const largestSecretBytes = 8 * 1024;

/** The text itself. Throws a ChannelError that names the variable or the file, never what is in it. */
export function readText(source: TextOrSecret, env: NodeJS.ProcessEnv): string {
  if (typeof source === 'string') return source;
  if ('environment' in source) {
    const value = env[source.environment];
    if (value !== undefined && value !== '') return value;
    throw new ChannelError(`The variable ${source.environment} of the environment is not set.`);
  }
  const text = readSecretFile(source.file).replace(/\r?\n$/, '');
  if (text === '') throw new ChannelError(`The file ${source.file} is empty.`);
  return text;
}

function readSecretFile(file: string): string {
  try {
    if (statSync(file).size > largestSecretBytes) {
      throw new ChannelError(`The file ${file} is larger than ${largestSecretBytes} bytes.`);
    }
    return readFileSync(file, 'utf8');
  } catch (error) {
    if (error instanceof ChannelError) throw error;
    const code = error instanceof Error && 'code' in error ? String(error.code) : 'unknown';
    throw new ChannelError(`The file ${file} cannot be read (${code}).`);
  }
}

/** Every place in a channel's settings that may hold something secret. */
function sourcesOf(channel: ChannelSettings): readonly TextOrSecret[] {
  switch (channel.kind) {
    case 'email':
      return channel.password === null ? [] : [channel.password];
    case 'webhook':
      return [channel.url, ...Object.values(channel.headers)];
    case 'command':
    case 'beeper':
      return [];
  }
}

/** Variables of the environment that hold something secret of any of these. */
export function secretVariables(
  sources: readonly (TextOrSecret | SecretSource | null)[],
): string[] {
  return sources.flatMap((source) =>
    source !== null && typeof source === 'object' && 'environment' in source
      ? [source.environment]
      : [],
  );
}

/** The sources of many channels as one list. */
export function sourcesOfAll(channels: readonly ChannelSettings[]): readonly TextOrSecret[] {
  return channels.flatMap(sourcesOf);
}

const hidden = '•••';

/** Texts that may not appear anywhere, the longest first. */
export function secretsOf(sources: readonly TextOrSecret[], env: NodeJS.ProcessEnv): string[] {
  const texts = sources.flatMap((source) => {
    try {
      return [readText(source, env)];
    } catch {
      return [];
    }
  });
  const parts = texts.flatMap((text) => (URL.canParse(text) ? [text, ...partsOf(text)] : [text]));
  return parts.filter((text) => text.length >= 4).toSorted((a, b) => b.length - a.length);
}

/** Of an address the host may be told; path and query hold tokens as a rule. */
function partsOf(url: string): string[] {
  const { pathname, search, username, password } = new URL(url);
  const logIn = [username, password].flatMap((text) => [text, decoded(text)]);
  return [pathname + search, pathname, search, ...pathname.split('/'), ...logIn];
}

function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/** Takes out of a text what may not appear. Whoever shortens a text does this first. */
export type Hide = (text: string) => string;

/** The text without any of these, and without their base64, in which log-ins are sent. */
export function redact(text: string, secrets: readonly string[]): string {
  let shown = text;
  for (const secret of secrets) {
    shown = shown.replaceAll(secret, hidden);
    shown = shown.replaceAll(Buffer.from(secret).toString('base64'), hidden);
  }
  return shown;
}
