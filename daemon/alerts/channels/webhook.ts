/** Posts a letter to an address from the owner's settings; follows no redirect. */

import { fillTemplate, type Filling } from '../../settings/door.ts';
import type { WebhookChannel } from '../../settings/model.ts';
import type { Letter } from '../letter.ts';
import { ChannelError, readText } from './secrets.ts';

export interface SendContext {
  readonly env: NodeJS.ProcessEnv;
  readonly studio: string;
  /** Aborts when the time for this try is over. */
  readonly signal: AbortSignal;
}

const plainBodies = {
  text: '{title}\n\n{text}',
  json: '{"id":"{id}","priority":"{priority}","tank":"{tank}","time":"{time}","title":"{title}","text":"{text}"}',
} as const;

/** What the placeholders become. */
export function fillingOf(letter: Letter, studio: string, channel: WebhookChannel): Filling {
  return {
    title: letter.title,
    text: letter.text,
    priority: channel.priorityWords?.[letter.priority] ?? letter.priority,
    tank: letter.tankId ?? '',
    time: new Date(letter.wallMs).toISOString(),
    id: letter.id,
    studio,
  };
}

/** A header is one line of Latin-1: what does not fit becomes a question mark, and a break a blank. */
function headerValue(value: string): string {
  return value
    .replaceAll(/\p{Cc}+/gu, ' ')
    .replaceAll(/[^\u0020-\u00FF]/gu, '?')
    .trim();
}

function headersOf(channel: WebhookChannel, filling: Filling, env: NodeJS.ProcessEnv): Headers {
  const type = channel.format === 'json' ? 'application/json' : 'text/plain; charset=utf-8';
  const headers = new Headers({ 'content-type': type, 'user-agent': 'nightbath' });
  for (const [name, source] of Object.entries(channel.headers)) {
    // A secret is sent as it is: what looks like a placeholder in it is none.
    const text =
      typeof source === 'string' ? fillTemplate(source, 'text', filling) : readText(source, env);
    headers.set(name, headerValue(text));
  }
  return headers;
}

/** Resolves once the address has answered with success; rejects with why not. */
export async function sendByWebhook(
  channel: WebhookChannel,
  letter: Letter,
  { env, studio, signal }: SendContext,
): Promise<void> {
  const filling = fillingOf(letter, studio, channel);
  const body = fillTemplate(channel.body ?? plainBodies[channel.format], channel.format, filling);
  await expectSuccess(
    await fetch(webAddress(readText(channel.url, env)), {
      method: 'POST',
      headers: headersOf(channel, filling, env),
      body,
      redirect: 'manual',
      signal,
    }),
  );
}

/** An address out of a variable or a file is judged like one in the settings. */
export function webAddress(text: string): string {
  const address = text.trim();
  if (!/^https?:\/\//.test(address) || !URL.canParse(address)) {
    throw new ChannelError('What is kept as its address is not one that begins with https://.');
  }
  const { username, password } = new URL(address);
  if (username !== '' || password !== '') {
    throw new ChannelError(
      'What is kept as its address has a name or a password in it. Send them in a header instead.',
    );
  }
  return address;
}

/** Lets go of the answer's body; throws for any answer but a success. */
export async function expectSuccess(response: Response): Promise<void> {
  await response.body?.cancel().catch(() => undefined);
  const { status } = response;
  if (status >= 200 && status < 300) return;
  const redirects = status >= 300 && status < 400;
  throw new ChannelError(
    redirects
      ? `The address answered ${status}, a redirect; those are not followed.`
      : `The address answered ${status}.`,
  );
}
