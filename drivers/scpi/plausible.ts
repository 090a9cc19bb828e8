/** Measured values that no supply of this range can give: one turned bit on a line without checksums. */

import { RectifierError } from '../contract.ts';
import { numberOf, showReply } from './number.ts';
import { replyTo, type Session } from './session.ts';

/**
 * A runaway supply reaches little more than its highest set-point; what lies beyond this share of
 * it is a digit that changed on the way. Judgement, no source.
 */
const BEYOND_SHARE = 1.3;

function measured(
  session: Session,
  replies: ReadonlyMap<string, string>,
  what: 'measureVolts' | 'measureAmps',
  most: number,
): number {
  const query = session.dialect.ops[what];
  const reply = replyTo(replies, query.send);
  const value = numberOf(query, reply);
  if (Math.abs(value) <= BEYOND_SHARE * most) return value;
  session.exchange.health.garbled += 1;
  const unit = what === 'measureVolts' ? 'V' : 'A';
  const message = `${query.send} was answered by ${showReply(reply)}; this supply gives no more than ${most} ${unit}.`;
  throw new RectifierError('garbled', message);
}

/** Measured volts. Throws `garbled` for what lies far beyond the supply's range. */
export function voltsOf(session: Session, replies: ReadonlyMap<string, string>): number {
  return measured(session, replies, 'measureVolts', session.range.maxVolts);
}

/** Measured amps. Throws `garbled` for what lies far beyond the supply's range. */
export function ampsOf(session: Session, replies: ReadonlyMap<string, string>): number {
  return measured(session, replies, 'measureAmps', session.range.maxAmps);
}
