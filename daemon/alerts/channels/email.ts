/** Sends a letter as e-mail over SMTP. */

import { readFileSync } from 'node:fs';
import { createTransport } from 'nodemailer';
import type { EmailChannel } from '../../settings/model.ts';
import type { Letter } from '../letter.ts';
import { portOf } from './ports.ts';
import { ChannelError, readText } from './secrets.ts';
import type { SendContext } from './webhook.ts';

/** What the connection is made with; everything in it is bounded, and nothing is logged. */
function transportOptions(channel: EmailChannel, env: NodeJS.ProcessEnv, withinMs: number) {
  const { host, security, user, password, certificateFile } = channel;
  return {
    host,
    port: portOf(channel),
    secure: security === 'tls',
    requireTLS: security === 'starttls',
    ignoreTLS: security === 'none',
    tls: {
      minVersion: 'TLSv1.2' as const,
      ...(certificateFile === null ? {} : { ca: certificateOf(certificateFile) }),
    },
    ...(user === null || password === null
      ? {}
      : { auth: { user, pass: readText(password, env) } }),
    dnsTimeout: withinMs,
    connectionTimeout: withinMs,
    greetingTimeout: withinMs,
    socketTimeout: withinMs,
    disableFileAccess: true,
    disableUrlAccess: true,
    logger: false,
  };
}

function certificateOf(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch {
    throw new ChannelError(`The certificate ${file} cannot be read.`);
  }
}

/**
 * Resolves once the server has taken it for one receiver at least. Every copy of one saying has the
 * same Message-ID, so that a mailbox may show a double once.
 */
export async function sendByEmail(
  channel: EmailChannel,
  letter: Letter,
  { env, studio, signal }: SendContext,
  withinMs: number,
): Promise<void> {
  const transport = createTransport(transportOptions(channel, env, withinMs));
  const stop = () => transport.close();
  signal.addEventListener('abort', stop);
  const name = (saying: number) => `<${letter.id}.${saying}@nightbath.invalid>`;
  try {
    const sending = transport.sendMail({
      from: { name: studio, address: channel.from },
      to: [...channel.to],
      subject: letter.title,
      text: letter.text,
      messageId: name(letter.saying),
      ...(letter.saying === 0 ? {} : { references: name(0), inReplyTo: name(0) }),
      headers: {
        'Auto-Submitted': 'auto-generated',
        ...(letter.priority === 'stopped' ? { Importance: 'high' } : {}),
      },
    });
    // A transport that is closed in mid-send may leave its promise open.
    await Promise.race([sending, aborted(signal)]);
  } finally {
    signal.removeEventListener('abort', stop);
    transport.close();
  }
}

/** Rejects when the signal aborts. */
function aborted(signal: AbortSignal): Promise<never> {
  return new Promise((_resolve, reject) => {
    const fail = () => reject(new ChannelError('The server does not answer in time.'));
    if (signal.aborted) fail();
    signal.addEventListener('abort', fail, { once: true });
  });
}
