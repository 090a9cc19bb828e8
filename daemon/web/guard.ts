/** Who may ask: exact Host and Origin lists, methods, and headers that no foreign page can send. */

import { isIPv6 } from 'node:net';
import type { MiddlewareHandler } from 'hono';
import { ProblemError } from './problem.ts';

export type Scheme = 'http' | 'https';

/** A name of this server for others, and the address that they type. */
export interface OtherName {
  readonly name: string;
  readonly url: string;
}

/** The names under which this server may be addressed; empty, so closed, until the port is known. */
export class AccessList {
  #hosts: ReadonlySet<string> = new Set();
  #ownHosts: ReadonlySet<string> = new Set();
  #scheme: Scheme = 'http';
  #others: readonly OtherName[] = [];

  /** `others` are names and addresses beside those of this machine itself. */
  open(port: number, others: readonly string[] = [], scheme: Scheme = 'http'): void {
    this.#scheme = scheme;
    // A browser leaves the default port out of Host and Origin.
    const usual = scheme === 'https' ? 443 : 80;
    const hosts = (names: readonly string[]): string[] =>
      names.flatMap((name) => (port === usual ? [name, `${name}:${port}`] : [`${name}:${port}`]));
    const own = hosts(['127.0.0.1', 'localhost', '[::1]']);
    const all = [...own, ...hosts(others.filter(isOne).map(asHost))];
    this.#others = others.filter(isOne).map((name) => ({
      name,
      url: `${scheme}://${asHost(name)}${port === usual ? '' : `:${port}`}`,
    }));
    this.#ownHosts = new Set(own);
    this.#hosts = new Set(all);
  }

  get secure(): boolean {
    return this.#scheme === 'https';
  }

  /** Names and addresses beside those of this machine itself. */
  get others(): readonly OtherName[] {
    return this.#others;
  }

  /** A name that means the machine of the bench to a browser on it, and never to another. */
  namesThisMachine(host: string | undefined): boolean {
    return host !== undefined && this.#ownHosts.has(host);
  }

  allowsHost(host: string | undefined): boolean {
    return host !== undefined && this.#hosts.has(host);
  }

  /** Only a page of the very address that is asked: another name of this machine is another origin. */
  allowsOrigin(origin: string | undefined, host: string | undefined): boolean {
    return this.allowsHost(host) && origin === `${this.#scheme}://${host}`;
  }
}

/** Every address at once is nobody's name: a page that asks for it is not ours. */
function isOne(name: string): boolean {
  return name !== '0.0.0.0' && name !== '::';
}

/** As a browser writes it: IPv6 in brackets, in its shortest form. */
function asHost(name: string): string {
  return isIPv6(name) ? new URL(`http://[${name}]/`).hostname : name;
}

/** The parts of a request that decide whether it is heard at all. */
export interface RequestFacts {
  readonly method: string;
  readonly path: string;
  readonly header: (name: string) => string | undefined;
}

/** The header that only our own page sends; a foreign page cannot add it without being asked first. */
export const pageHeader = 'x-nightbath';
// Neither type can be sent by a form of a foreign page.
const jsonBody = {
  type: /^application\/json(\s*;\s*charset=utf-8)?\s*$/i,
  name: 'application/json',
};
const fileBody = { type: /^application\/octet-stream\s*$/i, name: 'application/octet-stream' };
const pictureBody = {
  type: /^(image\/(jpeg|png|webp)|application\/octet-stream)\s*$/i,
  name: 'image/jpeg, image/png or image/webp',
};
/** The paths that take a file instead of JSON. */
export const meshPath = '/api/meshes';
const picturePath = '/api/pictures';
const methods = ['GET', 'HEAD', 'POST', 'PUT', 'DELETE'];

/** The refusal of a plain request, or null when it may go on to routing. */
function judgeRequest(facts: RequestFacts, access: AccessList): ProblemError | null {
  const { method, header } = facts;
  if (!access.allowsHost(header('host'))) return foreignHost();
  if (!methods.includes(method)) {
    const detail = `Only ${methods.join(', ')} are answered.`;
    return new ProblemError('methodNotAllowed', detail, [], { allow: methods.join(', ') });
  }
  const origin = header('origin');
  if (origin !== undefined && !access.allowsOrigin(origin, header('host'))) return foreignOrigin();
  if (fromElsewhere(facts)) return foreignOrigin();
  if (method === 'GET' || method === 'HEAD') return null;
  if (origin === undefined) {
    return new ProblemError('forbidden', 'A change needs an Origin header of this address.');
  }
  if (header(pageHeader) !== '1') {
    return new ProblemError('forbidden', `A change needs the header ${pageHeader}: 1.`);
  }
  // A deletion has no body.
  if (method === 'DELETE') return null;
  const { type, name } = bodyOf(facts.path);
  if (type.test(header('content-type') ?? '')) return null;
  const detail = `The body has to be sent as ${name}.`;
  return new ProblemError('unsupportedMediaType', detail);
}

function bodyOf(path: string): { readonly type: RegExp; readonly name: string } {
  if (path === meshPath) return fileBody;
  return path === picturePath ? pictureBody : jsonBody;
}

/** The refusal of an upgrade to the live socket, or null. */
export function judgeUpgrade(facts: RequestFacts, access: AccessList): ProblemError | null {
  const { header } = facts;
  if (!access.allowsHost(header('host'))) return foreignHost();
  if (!access.allowsOrigin(header('origin'), header('host'))) return foreignOrigin();
  const site = header('sec-fetch-site');
  if (site !== undefined && site !== 'same-origin') return foreignOrigin();
  if (facts.path !== '/api/live' || facts.method !== 'GET') {
    return new ProblemError('notFound', 'The only live socket is /api/live.');
  }
  if (header('upgrade')?.toLowerCase() !== 'websocket') {
    return new ProblemError('malformed', 'The only upgrade offered is to a WebSocket.');
  }
  return null;
}

/** True for what another site started; a plain link to one of our pages is let through. */
function fromElsewhere({ method, path, header }: RequestFacts): boolean {
  const site = header('sec-fetch-site');
  if (site === undefined || site === 'same-origin' || site === 'none') return false;
  const link =
    method === 'GET' &&
    header('sec-fetch-mode') === 'navigate' &&
    header('sec-fetch-dest') === 'document';
  return !(link && path !== '/api' && !path.startsWith('/api/'));
}

function foreignHost(): ProblemError {
  return new ProblemError('forbidden', 'This address is not served under that host name.');
}

function foreignOrigin(): ProblemError {
  return new ProblemError('forbidden', 'Requests from other sites are refused.');
}

/** Headers of every answer; `host` has passed the list, so it is safe to print. */
export function securityHeaders(
  host: string | null,
  secure = false,
): Readonly<Record<string, string>> {
  const live = host === null ? '' : ` ${secure ? 'wss' : 'ws'}://${host}`;
  return {
    'content-security-policy': [
      "default-src 'self'",
      "script-src 'self'",
      "style-src 'self'",
      "img-src 'self' data: blob:",
      `connect-src 'self'${live}`,
      "object-src 'none'",
      "frame-ancestors 'none'",
      "base-uri 'none'",
      "form-action 'none'",
    ].join('; '),
    'x-content-type-options': 'nosniff',
    'referrer-policy': 'no-referrer',
    'cross-origin-opener-policy': 'same-origin',
    'cross-origin-resource-policy': 'same-origin',
    'x-frame-options': 'DENY',
  };
}

/** Judges every request before routing and puts the security headers on every answer. */
export function guard(access: AccessList, hstsDays = 0): MiddlewareHandler {
  return async (context, next) => {
    const header = (name: string): string | undefined => context.req.header(name);
    const facts = { method: context.req.method, path: context.req.path, header };
    const refusal = judgeRequest(facts, access);
    const host = header('host');
    const known = access.allowsHost(host) ? (host ?? null) : null;
    for (const [name, value] of Object.entries(securityHeaders(known, access.secure))) {
      context.header(name, value);
    }
    // Without a wish for it none is sent: it would bind every port of that name for months, and a
    // certificate that ran out would then lock the maker out of the bench.
    if (access.secure && hstsDays > 0) {
      context.header('strict-transport-security', `max-age=${hstsDays * 86_400}`);
    }
    // The static files say otherwise for names that carry a hash.
    context.header('cache-control', 'no-store');
    if (refusal !== null) throw refusal;
    await next();
  };
}
