/** Why a try failed, as one sentence for a maker. */

import { ChannelError, type Hide } from './secrets.ts';

const sentences: Readonly<Record<string, string>> = {
  ENOTFOUND: 'The name of the server does not resolve',
  EAI_AGAIN: 'The name of the server cannot be looked up just now',
  EDNS: 'The name of the server cannot be looked up',
  ECONNREFUSED: 'The server refuses the connection',
  ECONNRESET: 'The server hung up',
  ECONNECTION: 'The server cannot be reached',
  ESOCKET: 'The connection failed',
  EHOSTUNREACH: 'The server cannot be reached',
  ENETUNREACH: 'There is no network to the server',
  ETIMEDOUT: 'The server does not answer in time',
  EAUTH: 'The log-in was refused',
  ETLS: 'The connection could not be secured',
  EENVELOPE: 'Sender or receiver was refused',
  UND_ERR_CONNECT_TIMEOUT: 'The server does not answer in time',
  UND_ERR_SOCKET: 'The server hung up',
};

interface Told {
  readonly code: string | null;
  readonly message: string;
}

/** The innermost error says most: fetch wraps the one of the network. */
function innermost(error: unknown): Told {
  if (error instanceof AggregateError && error.errors.length > 0) return innermost(error.errors[0]);
  if (!(error instanceof Error)) return { code: null, message: String(error) };
  if (error.cause instanceof Error) return innermost(error.cause);
  const code = 'code' in error && typeof error.code === 'string' ? error.code : null;
  return { code, message: error.message };
}

/** One sentence, on one line, of a bounded length; half a secret is one too, so `hide` comes before the cut. */
export function reasonOf(error: unknown, hide: Hide = (text) => text): string {
  if (error instanceof ChannelError) return error.message;
  const { code, message } = innermost(error);
  const plain = hide(message)
    .replaceAll(/[\s\p{Cc}]+/gu, ' ')
    .trim()
    .slice(0, 200);
  // Mail errors bear a code of their own and the one of the network in their words.
  const inWords = /\bE[A-Z]{4,}\b/.exec(plain)?.[0] ?? '';
  const sentence = sentences[inWords] ?? (code === null ? undefined : sentences[code]);
  return sentence === undefined ? `It failed: ${plain}.` : `${sentence} (${plain}).`;
}
