/** The supply's own queue of errors. */

import { RectifierError } from '../contract.ts';
import { patternOf } from './dialect.ts';
import type { Ticket } from './lane.ts';
import { showReply } from './number.ts';
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

/** The supply's errors as they are told; empty where there are none. */
export function toldOf(errors: readonly string[]): string {
  return errors.map(showReply).join(', ');
}

/** Where `after` cannot be read back, an error that the supply reports is all that is known of it. */
export function refuseBlind(after: string, errors: readonly string[]): void {
  if (errors.length === 0) return;
  throw new RectifierError('refused', `The supply reports ${toldOf(errors)} after ${after}.`);
}

/** What was set and is not so: `refused` where the supply also reports an error, else `readbackMismatch`. */
export function notTaken(what: string, errors: readonly string[]): RectifierError {
  return errors.length > 0
    ? new RectifierError('refused', `${what}; it reports ${toldOf(errors)}.`)
    : new RectifierError('readbackMismatch', `${what}.`);
}
