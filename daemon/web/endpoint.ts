/** What the tables of routes are written in: one route, and the usual kinds of it. */

import type * as z from 'zod/mini';
import type { Role } from '../wire/roles.ts';
import * as shapes from './schemas.ts';

export interface Answer {
  readonly description: string;
  /** Left out where the body is not JSON or where there is none. */
  readonly schema?: z.ZodMiniType;
  /** application/json unless it says otherwise. */
  readonly mediaType?: string;
}

export interface Endpoint {
  readonly method: 'get' | 'post' | 'put' | 'delete';
  /** As Hono writes it: `/api/tanks/:id`. */
  readonly path: string;
  readonly summary: string;
  /** Who may use it; `open` needs no session. A route without a line in the tables is not served. */
  readonly role: Role | 'open';
  readonly query?: z.ZodMiniObject;
  readonly body?: z.ZodMiniType;
  /** The types of the body where it is a file and not JSON. */
  readonly upload?: readonly string[];
  /** True where the header `idempotency-key` makes a repeat harmless. */
  readonly key?: 'required' | 'optional';
  readonly answers: Readonly<Record<number, Answer>>;
  /** Statuses with a problem document, apart from 401, 403, 404 and 500 that any route may give. */
  readonly problems: readonly number[];
}

/** A read by GET. */
export function read(
  path: string,
  summary: string,
  schema: z.ZodMiniType,
  more: Partial<Pick<Endpoint, 'query' | 'problems' | 'role'>> = {},
): Endpoint {
  const problems = more.problems ?? (more.query === undefined ? [] : [422]);
  return {
    method: 'get',
    path,
    summary,
    role: 'view',
    ...more,
    problems,
    answers: { 200: told(schema) },
  };
}

/** A command by POST, answered when it is done. */
export function command(
  path: string,
  summary: string,
  body: z.ZodMiniType,
  key: 'required' | 'optional' = 'required',
  role: Role = 'control',
): Endpoint {
  return {
    method: 'post',
    path,
    summary,
    role,
    body,
    key,
    answers: { 200: told(shapes.acceptedSchema, 'Done.') },
    problems: key === 'required' ? [400, 409, 413, 415, 422, 503] : [409, 413, 415, 503],
  };
}

export function told(schema: z.ZodMiniType, description = 'As asked.'): Answer {
  return { description, schema };
}
