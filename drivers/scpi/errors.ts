/** The supply's own queue of errors. */

import { patternOf } from './dialect.ts';
import type { Ticket } from './lane.ts';
import type { Session } from './session.ts';

const MAX_QUEUED_ERRORS = 32;

/** Reads the supply's own errors, oldest first, until it says that there are none. */
export async function drainErrors(session: Session, ticket: Ticket): Promise<string[]> {
  const { exchange, dialect } = session;
  const found = exchange.takePushedErrors();
  const { errors } = dialect.session;
  if (errors === undefined) return found;
  const none = patternOf(errors.none);
  for (let count = 0; count < MAX_QUEUED_ERRORS; count += 1) {
    const reply = await exchange.query(ticket, errors.send, errors, () => undefined);
    if (none.test(reply)) break;
    found.push(reply);
  }
  return found;
}
