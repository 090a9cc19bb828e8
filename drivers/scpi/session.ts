/** What a driver knows of its supply while it is connected, and the questions it puts to it. */

import {
  RectifierError,
  type RectifierIdentity,
  type RectifierRange,
  type SupplyTrip,
} from '../contract.ts';
import type { Dialect, ReplyShape } from './dialect-schema.ts';
import type { Exchange } from './exchange.ts';
import type { Ticket } from './lane.ts';
import { parseInteger, showReply } from './number.ts';

export interface Session {
  readonly exchange: Exchange;
  readonly dialect: Dialect;
  /** The mask that the supply was last given; its reply to *ESE? proves that replies are in step. */
  nonce: number | null;
  /** Who answered when this driver first connected. */
  identity: RectifierIdentity | null;
  range: RectifierRange;
  /** Set-points as last read back, rounded; null when they may have changed since. */
  setVolts: number | null;
  setAmps: number | null;
  /** Why the output went off, as far as the supply tells; null while that is not known. */
  tripsWhileOff: readonly SupplyTrip[] | null;
  /** Cycles until set-points are read back again. */
  cyclesToSetPoints: number;
  /** The supply has said that it was switched on, and nobody has been told yet. */
  restarted: boolean;
  /** Resyncs that have failed in a row. */
  failedResyncs: number;
}

/** One query of a round, with a check of its reply that throws `garbled`. */
export interface Question {
  readonly send: string;
  readonly shape: ReplyShape;
  readonly check: (reply: string) => void;
}

const LINE_SHAPE: ReplyShape = { untilIdle: false, strayBytes: 0 };
export const ESE_QUERY = '*ESE?';

function tokenQuestion(session: Session): Question | null {
  const { nonce, identity, dialect } = session;
  if (dialect.session.resync === 'ese-nonce' && nonce !== null) {
    return {
      send: ESE_QUERY,
      shape: LINE_SHAPE,
      check: (reply) => {
        if (parseInteger(reply) === nonce) return;
        throw new RectifierError('garbled', `Replies are out of step: ${showReply(reply)}.`);
      },
    };
  }
  if (dialect.session.resync === 'identity' && identity !== null) {
    const { identify } = dialect.session;
    return {
      send: identify.send,
      shape: identify,
      check: (reply) => {
        if (reply === identity.text) return;
        throw new RectifierError('garbled', `Replies are out of step: ${showReply(reply)}.`);
      },
    };
  }
  return null;
}

/** A line of joined queries. */
interface Line {
  readonly text: string;
  readonly questions: readonly Question[];
}

/** `;:` returns to the root, which common commands do not need. */
function joined(text: string, { send }: Question): string {
  if (text === '') return send;
  return send.startsWith('*') || send.startsWith(':') ? `${text};${send}` : `${text};:${send}`;
}

/** Queries joined into lines of bounded length, each with the token in front. */
function packLines(
  questions: readonly Question[],
  token: Question | null,
  maxLine: number,
): readonly Line[] {
  const lines: Line[] = [];
  const start = token === null ? [] : [token];
  const startText = token?.send ?? '';
  let line = [...start];
  let text = startText;
  for (const question of questions) {
    let longer = joined(text, question);
    if (line.length > start.length && longer.length > maxLine) {
      lines.push({ text, questions: line });
      line = [...start];
      longer = joined(startText, question);
    }
    line.push(question);
    text = longer;
  }
  if (line.length > start.length) lines.push({ text, questions: line });
  return lines;
}

async function askTogether(
  { exchange }: Session,
  ticket: Ticket,
  { text: line, questions }: Line,
  replies: Map<string, string>,
): Promise<void> {
  const check = (reply: string): void => {
    const fields = reply.split(';');
    if (fields.length !== questions.length) {
      const message = `${line} was answered by ${fields.length} values: ${showReply(reply)}.`;
      throw new RectifierError('garbled', message);
    }
    let failure: unknown = null;
    for (const [index, question] of questions.entries()) {
      const field = (fields[index] ?? '').trim();
      replies.set(question.send, field);
      try {
        question.check(field);
      } catch (error) {
        // The others are still looked at: reading an event register has emptied it.
        failure ??= error;
      }
    }
    if (failure !== null) throw failure;
  };
  await exchange.query(ticket, line, LINE_SHAPE, check, questions.length);
}

/**
 * Asks a round of questions and gives the replies by query text. A token proves that no reply of the
 * round belongs to an older question: joined queries carry it in front, single ones behind.
 */
export async function ask(
  session: Session,
  ticket: Ticket,
  questions: readonly Question[],
): Promise<ReadonlyMap<string, string>> {
  const replies = new Map<string, string>();
  const distinct = [...new Map(questions.map((one) => [one.send, one])).values()];
  if (distinct.length === 0) return replies;
  const { compound, maxLine } = session.dialect.tx;
  const token = tokenQuestion(session);
  if (compound) {
    for (const line of packLines(distinct, token, maxLine)) {
      await askTogether(session, ticket, line, replies);
    }
    return replies;
  }
  for (const { send, shape, check } of [...distinct, ...(token === null ? [] : [token])]) {
    replies.set(send, await session.exchange.query(ticket, send, shape, check));
  }
  return replies;
}

/** The reply to a question of the round. */
export function replyTo(replies: ReadonlyMap<string, string>, send: string): string {
  const reply = replies.get(send);
  if (reply === undefined) throw new RectifierError('garbled', `${send} was not answered.`);
  return reply;
}
