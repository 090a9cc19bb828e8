/** ON: sent once, then looked at until the supply says so. */

import { RectifierError } from '../contract.ts';
import { drainErrors } from './errors.ts';
import type { Ticket } from './lane.ts';
import { numberOf, showReply } from './number.ts';
import type { HardLimits } from './program.ts';
import { ensureClean, mayRetry, stateQuestion, valueQuestion } from './read.ts';
import { ask, replyTo, type Session } from './session.ts';
import { stateOf } from './status.ts';

/** How long a relay and a status may take to follow, ms. */
const CONFIRM_MS = 600;
const LOOK_AGAIN_MS = 40;
/** A reply that was given up can come late and spoil the proof after it: one cause, two failures. */
const FAILURES_BORNE = 2;

/**
 * Whether the output is on; null where no look succeeded in time. Replies that are lost, garbled or
 * late on the way are borne: the way back to step is not taken from the time of the supply, twice.
 */
async function watchOutput(
  session: Session,
  ticket: Ticket,
): Promise<{ on: boolean | null; failure: unknown }> {
  const { output } = session.dialect.ops;
  const { clock } = session.exchange;
  let endMs = clock.nowMs() + CONFIRM_MS;
  let on: boolean | null = null;
  let failure: unknown = null;
  let failures = 0;
  while (output !== undefined) {
    try {
      await ensureClean(session, ticket, true);
      const replies = await ask(session, ticket, [stateQuestion(output)]);
      on = stateOf(output, replyTo(replies, output.send));
      if (on) break;
    } catch (error) {
      ticket.check();
      if (!mayRetry(error) || !session.exchange.link.isOpen) throw error;
      failure = error;
      failures += 1;
      if (failures <= FAILURES_BORNE) endMs = clock.nowMs() + CONFIRM_MS;
    }
    if (clock.nowMs() + LOOK_AGAIN_MS >= endMs) break;
    await clock.sleep(LOOK_AGAIN_MS);
    ticket.check();
  }
  return { on, failure };
}

/** What stands at the supply above a hard limit, as a sentence; null where nothing does. */
async function tooHigh(
  session: Session,
  ticket: Ticket,
  limits: HardLimits,
): Promise<string | null> {
  const { getVolts, getAmps } = session.dialect.ops;
  const { stepVolts, stepAmps } = session.range;
  await ensureClean(session, ticket, false);
  const held = [
    { query: getVolts, most: limits.maxVolts, step: stepVolts, unit: 'V' },
    { query: getAmps, most: limits.maxAmps, step: stepAmps, unit: 'A' },
  ].flatMap(({ query, ...rest }) => (query === undefined ? [] : [{ query, ...rest }]));
  const replies = await ask(
    session,
    ticket,
    held.map(({ query }) => valueQuestion(query)),
  );
  for (const { query, most, step, unit } of held) {
    const found = numberOf(query, replyTo(replies, query.send));
    if (found > most + step / 2) {
      return `The set-point at the supply is ${found} ${unit}, above the limit of ${most} ${unit}; ON was not sent.`;
    }
  }
  return null;
}

/**
 * Brings a line back that has lost its place, and holds the set-points at the supply against the
 * hard limits: somebody may have turned a knob. Replies that are lost, garbled or late are borne, and
 * a set-point that looks too high is looked at once more.
 */
async function readyToSwitch(session: Session, ticket: Ticket, limits: HardLimits): Promise<void> {
  let high: string | null = null;
  for (let look = 1; ; look += 1) {
    try {
      const found = await tooHigh(session, ticket, limits);
      if (found === null) {
        // A reply that came twice shows here, while nothing was sent yet that could not be sent again.
        await session.exchange.settle(ticket);
        return;
      }
      if (high !== null) throw new RectifierError('outOfRange', found);
      high = found;
    } catch (error) {
      ticket.check();
      const isLast = look > FAILURES_BORNE || !session.exchange.link.isOpen;
      if (isLast || !mayRetry(error)) throw error;
    }
  }
}

/**
 * Switches the output on, and tells when ON was sent. Throws `outOfRange` without sending it where a
 * set-point at the supply is above a hard limit, `refused` or `readbackMismatch` when it stays off.
 */
export async function switchOn(
  session: Session,
  ticket: Ticket,
  limits: HardLimits,
): Promise<{ sentAtMs: number }> {
  const { exchange, dialect } = session;
  await readyToSwitch(session, ticket, limits);
  await exchange.command(ticket, dialect.ops.on.send);
  const sentAtMs = exchange.clock.nowMs();
  const { on, failure } = await watchOutput(session, ticket);
  if (on === true) return { sentAtMs };
  if (on === null && failure !== null) throw failure;
  const errors = await drainErrors(session, ticket);
  if (errors.length > 0) {
    const told = errors.map(showReply).join(', ');
    throw new RectifierError('refused', `The supply does not switch on; it reports ${told}.`);
  }
  // Without an output query there is nothing that could disagree.
  if (on === null) return { sentAtMs };
  throw new RectifierError(
    'readbackMismatch',
    'The supply was told to switch on and says that its output is off.',
  );
}
