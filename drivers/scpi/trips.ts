/** Resets protections that have latched in the supply, and only where some have. */

import type { Ticket } from './lane.ts';
import { ensureClean } from './read.ts';
import { ask, type Session } from './session.ts';
import { claimsOf, statusQuestion, tripsOf } from './status.ts';

/** Nothing where the dialect has no such command or cannot tell whether one has tripped. */
export async function resetTrips(session: Session, ticket: Ticket): Promise<void> {
  const { ops, status } = session.dialect;
  if (ops.clearTrips === undefined || status.length === 0) return;
  await ensureClean(session, ticket, false);
  const replies = await ask(session, ticket, status.map(statusQuestion));
  if (tripsOf(claimsOf(status, replies)).length === 0) return;
  await session.exchange.command(ticket, ops.clearTrips.send);
  session.tripsWhileOff = null;
}
