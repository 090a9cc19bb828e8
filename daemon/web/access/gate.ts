/** Lets a request through to a route only if its caller may do what the table says the route does. */

import type { Context, MiddlewareHandler } from 'hono';
import { matchedRoutes } from 'hono/route';
import type { Role } from '../../wire/roles.ts';
import { covers } from '../../wire/roles.ts';
import type { Endpoint } from '../endpoint.ts';
import { ProblemError } from '../problem.ts';
import type { Caller } from './caller.ts';
import type { AccessDesk } from './desk.ts';

declare module 'hono' {
  interface ContextVariableMap {
    caller: Caller;
  }
}

/** What the server tells of a connection. */
export interface PeerBindings {
  readonly remoteAddress?: string | undefined;
  /** Keeps the connection from giving way to others. */
  readonly vouch?: () => void;
}

const may: Readonly<Record<Role, string>> = {
  view: 'looking on',
  stop: 'switching off',
  control: 'this',
};

/** The refusal of a caller that lacks a role, or null. */
export function judgeRole(caller: Caller, needed: Role | 'open'): ProblemError | null {
  if (needed === 'open' || covers(caller.role, needed)) return null;
  if (caller.role === null) return signInFirst();
  const detail = `You are signed in for ${caller.role}; ${may[needed]} needs ${needed}.`;
  return new ProblemError('notAllowed', detail);
}

function signInFirst(): ProblemError {
  const detail = 'Sign in first, or again: there is no session, or it has ended.';
  // RFC 9110 wants a challenge; a scheme of our own keeps browsers from asking by themselves.
  return new ProblemError('unauthorized', detail, [], { 'www-authenticate': 'Session' });
}

export function gate(desk: AccessDesk, table: readonly Endpoint[]): MiddlewareHandler {
  const roleOf = new Map(
    table.map(({ method, path, role }) => [`${method.toUpperCase()} ${path}`, role]),
  );
  return async (context, next) => {
    const header = (name: string): string | undefined => context.req.header(name);
    const { remoteAddress, vouch } = (context.env ?? {}) as PeerBindings;
    const caller = desk.callerOf(header, remoteAddress);
    if (caller.role !== null) vouch?.();
    context.set('caller', caller);
    const refusal = judge(context, caller, roleOf);
    if (refusal !== null) throw refusal;
    await next();
  };
}

/** The router itself says which routes match, so that no path can be read in two ways. */
function judge(
  context: Context,
  caller: Caller,
  roleOf: ReadonlyMap<string, Role | 'open'>,
): ProblemError | null {
  const routes = matchedRoutes(context).filter(({ method }) => method !== 'ALL');
  for (const { method, path } of routes) {
    const needed = roleOf.get(`${method} ${path}`);
    // A route that the table does not know is not served to anybody.
    if (needed === undefined)
      return new ProblemError('notFound', 'There is nothing at this address.');
    const refusal = judgeRole(caller, needed);
    if (refusal !== null) return refusal;
  }
  const { path } = context.req;
  const api = path === '/api' || path.startsWith('/api/');
  // What is not there is told only to those who may look around.
  return routes.length === 0 && api ? judgeRole(caller, 'view') : null;
}
