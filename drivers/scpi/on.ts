/** ON: sent once, then looked at until the supply says so. */

import { RectifierError } from '../contract.ts';
import type { Ticket } from './lane.ts';
import { showReply } from './number.ts';
import { drainErrors } from './program.ts';
import { ensureClean, mayRetry, stateQuestion } from './read.ts';
import { ask, replyTo, type Session } from './session.ts';
import { stateOf } from './status.ts';

/** How long a relay and a status may take to follow, ms. */
const CONFIRM_MS = 600;
const LOOK_AGAIN_MS = 40;

/** Whether the output is on; null where no look succeeded in time. */
async function watchOutput(
  session: Session,
  ticket: Ticket,
): Promise<{ on: boolean | null; failure: unknown }> {
  const { output } = session.dialect.ops;
  const { clock } = session.exchange;
  const endMs = clock.nowMs() + CONFIRM_MS;
  let on: boolean | null = null;
  let failure: unknown = null;
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
    }
    if (clock.nowMs() + LOOK_AGAIN_MS >= endMs) break;
    await clock.sleep(LOOK_AGAIN_MS);
    ticket.check();
  }
  return { on, failure };
}

/** A line that has lost its place is brought back before ON; one lost reply on the way is borne. */
async function readyToSwitch(session: Session, ticket: Ticket): Promise<void> {
  try {
    await ensureClean(session, ticket, false);
  } catch (error) {
    ticket.check();
    if (!mayRetry(error) || !session.exchange.link.isOpen) throw error;
    await ensureClean(session, ticket, false);
  }
}

/** Switches the output on, and tells when ON was sent. Throws `refused` or `readbackMismatch` when it stays off. */
export async function switchOn(session: Session, ticket: Ticket): Promise<{ sentAtMs: number }> {
  const { exchange, dialect } = session;
  await readyToSwitch(session, ticket);
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
