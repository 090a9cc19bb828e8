/** Who is asking: a browser on this machine, somebody who signed in, or a stranger. */

import type { Role } from '../../wire/roles.ts';
import type { Session } from './sessions.ts';

export interface Caller {
  /** Null may do nothing but sign in. */
  readonly role: Role | null;
  /** The address that the connection comes from. */
  readonly address: string;
  /** A browser on the machine of the bench itself. */
  readonly here: boolean;
  /** Null where nobody signed in. */
  readonly session: Session | null;
}

/** One header by its name in small letters. */
export type HeaderOf = (name: string) => string | undefined;

/** Headers that only something in between adds: then the one who asks may be anywhere. */
const forwarding = [
  'forwarded',
  'via',
  'x-forwarded-for',
  'x-forwarded-host',
  'x-forwarded-proto',
  'x-real-ip',
];

export function isForwarded(header: HeaderOf): boolean {
  return forwarding.some((name) => header(name) !== undefined);
}

/** An address as it is compared and shown: IPv4 within IPv6 unwrapped, without a zone. */
export function plainAddress(address: string | undefined): string {
  const [bare = ''] = (address ?? '').split('%');
  return bare.toLowerCase().startsWith('::ffff:') && bare.includes('.') ? bare.slice(7) : bare;
}

export function isLoopback(address: string): boolean {
  return address === '::1' || /^127(?:\.\d{1,3}){3}$/.test(address);
}

/** Who asked, as the events of a run name it: at most 80 characters, for roles and names are short. */
export function signature({ session, address, here }: Caller): string {
  if (session === null) return 'the page';
  const name = session.name === '' ? 'somebody' : session.name;
  return `${name} (${session.role}) ${here ? 'on this machine' : `at ${address}`}`;
}
