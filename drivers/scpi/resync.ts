/** Proves that the next reply belongs to the next question, after a time-out or a bad reply. */

import { RectifierError } from '../contract.ts';
import { patternOf } from './dialect.ts';
import type { ReplyShape } from './dialect-schema.ts';
import type { Ticket } from './lane.ts';
import { parseInteger, showReply } from './number.ts';
import { ESE_QUERY, type Session } from './session.ts';

/** Longest flood that is waited out in one try, ms. */
const DISCARD_CAP_MS = 700;
/** Silence after a lone terminator, which asks for no reply, ms. */
const SHORT_QUIET_MS = 50;
/** After so many failed resyncs in a row the connection is given up. */
export const MAX_FAILED_RESYNCS = 3;

const FIRST_NONCE = 17;
const NONCES = 238;
/** Coprime to the number of masks, so that all of them come up before one repeats. */
const NONCE_STEP = 89;

/** A mask unlike the last ones, and never one bit alone, as a status register would answer. */
function nextNonce(session: Session): number {
  const last = session.nonce ?? FIRST_NONCE + (Math.floor(session.exchange.clock.nowMs()) % NONCES);
  const nonce = FIRST_NONCE + ((last - FIRST_NONCE + NONCE_STEP) % NONCES);
  return (nonce & (nonce - 1)) === 0 ? nonce + 1 : nonce;
}

/** Gives the supply a new mask and waits for that very number; every other line is older. */
async function proveByNonce(session: Session, ticket: Ticket): Promise<void> {
  const { exchange } = session;
  const nonce = nextNonce(session);
  session.nonce = nonce;
  const { compound, terminator } = session.dialect.tx;
  const lines = compound ? [`*ESE ${nonce};${ESE_QUERY}`] : [`*ESE ${nonce}`, ESE_QUERY];
  for (const line of lines) await exchange.sendBare(ticket, line + terminator);
  const deadlineMs = exchange.deadlineMs(ticket, lines.join(''), 1);
  for (;;) {
    const reply = await exchange.nextLine(deadlineMs);
    ticket.check();
    if (parseInteger(reply) === nonce) return;
  }
}

/** Asks twice for a reply that is known beforehand. */
async function proveByReply(
  session: Session,
  ticket: Ticket,
  query: ReplyShape & { readonly send: string },
  isExpected: (reply: string) => boolean,
): Promise<void> {
  for (let round = 0; round < 2; round += 1) {
    await session.exchange.query(ticket, query.send, query, (reply) => {
      if (isExpected(reply)) return;
      throw new RectifierError('garbled', `${query.send} was answered by ${showReply(reply)}.`);
    });
  }
}

async function prove(session: Session, ticket: Ticket): Promise<void> {
  const { resync, identify, knownReply } = session.dialect.session;
  if (resync === 'ese-nonce') {
    await proveByNonce(session, ticket);
  } else if (resync === 'known-reply' && knownReply !== undefined) {
    const pattern = patternOf(knownReply.pattern);
    await proveByReply(session, ticket, knownReply, (reply) => pattern.test(reply));
  } else {
    const known = session.identity?.text;
    const pattern = patternOf(identify.pattern);
    await proveByReply(session, ticket, identify, (reply) =>
      known === undefined ? pattern.test(reply) : reply === known,
    );
  }
}

/** Waits for silence and ends a half-sent line, where the dialect allows. */
export async function clearLine(session: Session, ticket: Ticket): Promise<void> {
  const { exchange, dialect } = session;
  const quietMs = Math.max(dialect.session.quietMs, 2 * dialect.tx.gapMs);
  await exchange.discard(ticket, quietMs, DISCARD_CAP_MS);
  if (dialect.link.preamble === '') return;
  await exchange.sendBare(ticket, dialect.link.preamble);
  await exchange.discard(ticket, Math.min(quietMs, SHORT_QUIET_MS), DISCARD_CAP_MS);
}

/**
 * Makes a dirty line clean. `quick` skips the wait for silence; only a nonce is proof enough for
 * that, other dialects wait all the same. Throws what the last step threw.
 */
export async function resyncLine(session: Session, ticket: Ticket, quick: boolean): Promise<void> {
  const { exchange, dialect } = session;
  try {
    if (quick && dialect.session.resync === 'ese-nonce') {
      if (dialect.link.preamble !== '') await exchange.sendBare(ticket, dialect.link.preamble);
    } else {
      await clearLine(session, ticket);
    }
    await prove(session, ticket);
  } catch (error) {
    ticket.check();
    session.failedResyncs += 1;
    throw error;
  }
  exchange.dirty = false;
  exchange.health.resyncs += 1;
  session.failedResyncs = 0;
  // What was sent in the meantime may or may not have been obeyed.
  session.setVolts = null;
  session.setAmps = null;
  session.cyclesToSetPoints = 0;
}
