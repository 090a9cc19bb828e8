/** Who the supply says it is, and whether it is the one that is meant. */

import { RectifierError, RefusedSupplyError, type RectifierIdentity } from '../contract.ts';
import { patternOf } from './dialect.ts';
import type { Ticket } from './lane.ts';
import { showReply } from './number.ts';
import type { Session } from './session.ts';

/** Tries to hear the same identity twice in a row; boot text may come in between. */
const IDENTIFY_TRIES = 5;

/** Somebody answers steadily, and what is said is no identity: who stands there is not known. */
export class NoIdentityError extends RectifierError {
  constructor(message: string) {
    super('wrongDevice', message);
  }
}

/** Which supply is meant. */
export interface MeantSupply {
  /** A text that its identity has to hold; null takes any. */
  readonly expectIdentity: string | null;
  /** Why a supply is not to be touched, by its identity; null where it may be. */
  readonly refuses?: ((identity: RectifierIdentity) => string | null) | undefined;
}

/** The fields of an identity; null where the reply does not fit the pattern. */
export function parseIdentity(pattern: string, reply: string): RectifierIdentity | null {
  const match = patternOf(pattern).exec(reply);
  if (match === null) return null;
  const group = (name: string): string => (match.groups?.[name] ?? '').trim();
  return {
    maker: group('maker'),
    model: group('model'),
    serial: group('serial'),
    firmware: group('firmware'),
    text: reply,
  };
}

/** A new firmware is still the same supply; another serial number is not. */
function sameSupply(left: RectifierIdentity, right: RectifierIdentity): boolean {
  const fields = ['maker', 'model', 'serial'] as const;
  if (fields.every((field) => left[field] === '')) return left.text === right.text;
  return fields.every((field) => left[field] === right[field]);
}

/** A reply that came twice without a pause: no supply's name is one text twice over. */
const twiceOver = /^(?<once>.{4,})\k<once>$/s;

/** Asks until two answers in a row agree. Throws `wrongDevice` when they do not fit the dialect. */
async function hearIdentity(session: Session, ticket: Ticket): Promise<RectifierIdentity> {
  const { exchange, dialect } = session;
  const { identify } = dialect.session;
  let previous: string | null = null;
  let failure: unknown = null;
  for (let attempt = 0; attempt < IDENTIFY_TRIES; attempt += 1) {
    try {
      const reply: string = await exchange.query(ticket, identify.send, identify, (text) => {
        if (!twiceOver.test(text)) return;
        const message = `${exchange.link.name} sent its name twice over: ${showReply(text)}.`;
        throw new RectifierError('garbled', message);
      });
      if (reply === previous) {
        const identity = parseIdentity(identify.pattern, reply);
        if (identity !== null) return identity;
        const message = `${exchange.link.name} says it is ${showReply(reply)}, which does not fit the dialect ${dialect.name}.`;
        throw new NoIdentityError(message);
      }
      previous = reply;
    } catch (error) {
      ticket.check();
      if (!(error instanceof RectifierError) || error.kind === 'wrongDevice') throw error;
      if (error.kind === 'closed' || error.kind === 'notOpen') throw error;
      // Two silences in a row are enough; garbage may still end.
      if (error.kind === 'timeout' && failure !== null) throw error;
      failure = error;
      previous = null;
    }
  }
  throw failure ?? new RectifierError('garbled', `${exchange.link.name} answers differently.`);
}

/**
 * Identifies the supply and refuses one that is not meant. The first supply that this driver meets
 * is the only one it will drive.
 */
export async function identifySupply(
  session: Session,
  ticket: Ticket,
  { expectIdentity, refuses }: MeantSupply,
): Promise<RectifierIdentity> {
  const identity = await hearIdentity(session, ticket);
  const { name } = session.exchange.link;
  if (expectIdentity !== null && !identity.text.includes(expectIdentity)) {
    const message = `${name} is ${showReply(identity.text)}; "${expectIdentity}" was expected.`;
    throw new RectifierError('wrongDevice', message);
  }
  if (session.identity !== null && !sameSupply(session.identity, identity)) {
    const message = `${name} was ${showReply(session.identity.text)} and is now ${showReply(identity.text)}.`;
    throw new RectifierError('wrongDevice', message);
  }
  const why = refuses?.(identity) ?? null;
  if (why !== null) throw new RefusedSupplyError(why);
  session.identity = identity;
  return identity;
}
