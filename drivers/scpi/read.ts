/** One poll of the supply: asked in one round, believed only as a whole. */

import { RectifierError, type RectifierReading } from '../contract.ts';
import type { Dialect, StateQuery, ValueQuery } from './dialect-schema.ts';
import { within, type Ticket } from './lane.ts';
import { checkNumber, numberOf, parseInteger, showReply } from './number.ts';
import { ampsOf, voltsOf } from './plausible.ts';
import { MAX_FAILED_RESYNCS, resyncLine } from './resync.ts';
import { ask, replyTo, type Question, type Session } from './session.ts';
import { claimsOf, judgeRegulation, stateOf, statusQuestion, tripsOf } from './status.ts';

/** Exchanges for whose time on a serial line the budget of a reading is lengthened. */
const WIRE_ALLOWANCE = 4;

/** A question for one number. */
export function valueQuestion(query: ValueQuery): Question {
  return { send: query.send, shape: query, check: (reply) => checkNumber(query, reply) };
}

/** A question for one of two states. */
export function stateQuestion(query: StateQuery): Question {
  return { send: query.send, shape: query, check: (reply) => void stateOf(query, reply) };
}

/** The question that tells of a restart, where the dialect has one; asking clears the mark. */
export function powerOnQuestion(session: Session): Question | null {
  const { powerOn } = session.dialect.session;
  if (powerOn === undefined) return null;
  return {
    send: powerOn.send,
    shape: powerOn,
    check: (reply) => {
      const register = parseInteger(reply);
      if (register === null) {
        const message = `${powerOn.send} was answered by ${showReply(reply)}.`;
        throw new RectifierError('garbled', message);
      }
      // Kept at once: the register is empty the next time, whatever becomes of this round.
      if ((register & powerOn.mask) !== 0) session.restarted = true;
    },
  };
}

function present<T>(entries: readonly (T | null | undefined)[]): T[] {
  return entries.filter((entry): entry is T => entry !== null && entry !== undefined);
}

function statusEntries(dialect: Dialect, asked: 'always' | 'whenOff') {
  return dialect.status.filter((entry) => entry.asked === asked);
}

/** The rounds of a session, built once: a supply is asked the same several times a second. */
const rounds = new WeakMap<Session, Map<boolean, readonly Question[]>>();

function pollQuestions(session: Session, withSetPoints: boolean): readonly Question[] {
  const known = rounds.get(session) ?? new Map<boolean, readonly Question[]>();
  rounds.set(session, known);
  const questions = known.get(withSetPoints) ?? buildRound(session, withSetPoints);
  known.set(withSetPoints, questions);
  return questions;
}

function buildRound(session: Session, withSetPoints: boolean): readonly Question[] {
  const { dialect } = session;
  const { ops } = dialect;
  const output = ops.output === undefined ? null : stateQuestion(ops.output);
  const slow = withSetPoints
    ? [
        ...present([ops.getVolts, ops.getAmps]).map(valueQuestion),
        ...present([powerOnQuestion(session)]),
      ]
    : [];
  return [
    valueQuestion(ops.measureVolts),
    valueQuestion(ops.measureAmps),
    ...slow,
    ...present([output]),
    ...statusEntries(dialect, 'always').map(statusQuestion),
  ];
}

function optionalNumber(
  query: ValueQuery | undefined,
  replies: ReadonlyMap<string, string>,
): number | null {
  return query === undefined ? null : numberOf(query, replyTo(replies, query.send));
}

/** Asks the entries that matter only while the output is off; true where they tell of a trip anew. */
async function askWhyOff(session: Session, ticket: Ticket): Promise<boolean> {
  const entries = statusEntries(session.dialect, 'whenOff');
  const replies = await ask(session, ticket, entries.map(statusQuestion));
  const knew = session.tripsWhileOff !== null && session.tripsWhileOff.length > 0;
  session.tripsWhileOff = tripsOf(claimsOf(entries, replies));
  return !knew && session.tripsWhileOff.length > 0;
}

/** One round without a second try. */
async function pollOnce(session: Session, ticket: Ticket): Promise<RectifierReading> {
  const { dialect } = session;
  const { ops } = dialect;
  const withSetPoints = session.cyclesToSetPoints <= 0;
  const replies = await ask(session, ticket, pollQuestions(session, withSetPoints));
  const volts = voltsOf(session, replies);
  const amps = ampsOf(session, replies);
  const outputOn =
    ops.output === undefined ? null : stateOf(ops.output, replyTo(replies, ops.output.send));
  const setVolts = withSetPoints ? optionalNumber(ops.getVolts, replies) : null;
  const setAmps = withSetPoints ? optionalNumber(ops.getAmps, replies) : null;
  session.setVolts = setVolts ?? session.setVolts;
  session.setAmps = setAmps ?? session.setAmps;
  const claims = claimsOf(statusEntries(dialect, 'always'), replies);
  if (outputOn !== false) session.tripsWhileOff = null;
  let news = false;
  if (outputOn === false && (withSetPoints || session.tripsWhileOff === null)) {
    news = await askWhyOff(session, ticket);
  }
  const trips = new Set([...tripsOf(claims), ...(session.tripsWhileOff ?? [])]);
  const measured = { outputOn, volts, amps, setVolts: session.setVolts, setAmps: session.setAmps };
  const regulation = judgeRegulation(claims, measured, dialect);
  session.cyclesToSetPoints = withSetPoints
    ? dialect.session.setPointsEvery - 1
    : session.cyclesToSetPoints - 1;
  // What does not fit together may be a set-point changed at the panel; a trip is asked for again.
  if (regulation === 'unknown' || news) session.cyclesToSetPoints = 0;
  const restarted = session.restarted;
  session.restarted = false;
  return {
    volts,
    amps,
    outputOn,
    regulation,
    supplyTrips: [...trips],
    setVolts,
    setAmps,
    restarted,
  };
}

/** A failure after which the same question may be put again. */
export function mayRetry(error: unknown): boolean {
  return (
    error instanceof RectifierError &&
    ['timeout', 'garbled', 'overflow', 'refused'].includes(error.kind)
  );
}

/** Cleans the line if it is dirty; after too many failures closes it, as a new one may be better. */
export async function ensureClean(session: Session, ticket: Ticket, quick: boolean): Promise<void> {
  if (!session.exchange.dirty) return;
  try {
    await resyncLine(session, ticket, quick);
  } catch (error) {
    if (session.failedResyncs >= MAX_FAILED_RESYNCS) await session.exchange.link.close();
    throw error;
  }
}

/** A reading, with a second try where the first did not use up its time; that has as much anew. */
export async function readSupply(session: Session, ticket: Ticket): Promise<RectifierReading> {
  const { exchange, dialect } = session;
  await ensureClean(session, ticket, false);
  const wireMs = exchange.wireMs(dialect.ops.measureVolts.send, 1) * WIRE_ALLOWANCE;
  const budgetMs = dialect.session.readBudgetMs + wireMs;
  const limited = (): Ticket => within(ticket, exchange.clock.nowMs() + budgetMs);
  const limitMs = exchange.clock.nowMs() + budgetMs;
  try {
    return await pollOnce(session, limited());
  } catch (error) {
    ticket.check();
    session.cyclesToSetPoints = 0;
    if (!mayRetry(error) || limitMs <= exchange.clock.nowMs()) throw error;
    try {
      await ensureClean(session, limited(), true);
      // Cut short by what the way back to step took, it would only lose its place once more.
      return await pollOnce(session, limited());
    } catch (second) {
      ticket.check();
      // The first failure says what went wrong; a vanished line is the better news.
      throw second instanceof RectifierError && second.kind === 'closed' ? second : error;
    }
  }
}
