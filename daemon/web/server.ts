/** Listens on this machine only, on IPv4 and IPv6 alike, and hands upgrades to the live socket. */

import { createServer } from 'node:http';
import type { IncomingMessage, RequestListener, Server } from 'node:http';
import type { Duplex } from 'node:stream';
import { getRequestListener } from '@hono/node-server';
import { securityHeaders } from './guard.ts';
import { ProblemError } from './problem.ts';

export interface WebServer {
  readonly port: number;
  /** The address to print. */
  readonly url: string;
  /** Addresses it listens on: 127.0.0.1, and ::1 where this machine has it. */
  readonly addresses: readonly string[];
  /** Takes no more requests, lets running ones end for a second, then cuts. */
  close(): Promise<void>;
}

export interface ServeOptions {
  /** 0 lets the system choose one that is free on both addresses. */
  readonly port: number;
  readonly fetch: (request: Request) => Response | Promise<Response>;
  readonly upgrade: (request: IncomingMessage, socket: Duplex, head: Buffer) => void;
}

/** Thrown when the port is taken. */
export class PortTakenError extends Error {
  override readonly name = 'PortTakenError';
  readonly port: number;

  constructor(port: number) {
    super(`Port ${port} is taken.`);
    this.port = port;
  }
}

const graceMs = 1_000;
const chosenPortTries = 5;

export async function serve(options: ServeOptions): Promise<WebServer> {
  for (let attempt = 1; ; attempt += 1) {
    try {
      return await listenOnBoth(options);
    } catch (error) {
      // A port that the system chose for IPv4 may be somebody else's on IPv6; then choose again.
      const again = options.port === 0 && error instanceof PortTakenError;
      if (!again || attempt === chosenPortTries) throw error;
    }
  }
}

async function listenOnBoth(options: ServeOptions): Promise<WebServer> {
  const first = makeServer(options);
  await listen(first, options.port, '127.0.0.1');
  const port = portOf(first);
  const servers = [first];
  const addresses = ['127.0.0.1'];
  const second = makeServer(options);
  try {
    await listen(second, port, '::1');
    servers.push(second);
    addresses.push('::1');
  } catch (error) {
    // Without IPv6 the page is served all the same; with a stranger on that port it must not be,
    // because "localhost" would lead to the stranger.
    if (error instanceof PortTakenError) {
      await close([first]);
      throw error;
    }
  }
  return { port, url: `http://127.0.0.1:${port}`, addresses, close: () => close(servers) };
}

function portOf(server: Server): number {
  const address = server.address();
  if (address === null || typeof address === 'string') throw new Error('It does not listen.');
  return address.port;
}

function makeServer(options: ServeOptions): Server {
  const server = createServer(
    { maxHeaderSize: 16 * 1024, headersTimeout: 10_000, requestTimeout: 30_000 },
    front(options.fetch),
  );
  server.maxConnections = 200;
  server.keepAliveTimeout = 5_000;
  server.on('upgrade', options.upgrade);
  return server;
}

/** Refuses what cannot be read in one way only, before the application sees it. */
function front(fetch: ServeOptions['fetch']): RequestListener {
  const listener = getRequestListener(fetch, {
    errorHandler: () => plainProblem(new ProblemError('malformed', 'The request cannot be read.')),
  });
  return (request, response) => {
    const hosts = request.headersDistinct['host']?.length ?? 0;
    const origins = request.headersDistinct['origin']?.length ?? 0;
    if (request.url?.startsWith('/') === true && hosts <= 1 && origins <= 1) {
      void listener(request, response);
      return;
    }
    const refusal = new ProblemError('malformed', 'The request can be read in more than one way.');
    response.writeHead(refusal.status, { ...problemHeaders(), connection: 'close' });
    response.end(JSON.stringify(refusal.document()));
  };
}

function problemHeaders(): Readonly<Record<string, string>> {
  return {
    ...securityHeaders(null),
    'content-type': 'application/problem+json',
    'cache-control': 'no-store',
  };
}

function plainProblem(problem: ProblemError): Response {
  const init = { status: problem.status, headers: problemHeaders() };
  return new Response(JSON.stringify(problem.document()), init);
}

function listen(server: Server, port: number, host: string): Promise<void> {
  return new Promise((resolve, reject) => {
    const fail = (error: NodeJS.ErrnoException): void => {
      reject(error.code === 'EADDRINUSE' ? new PortTakenError(port) : error);
    };
    server.once('error', fail);
    server.listen({ port, host, exclusive: true, ipv6Only: host === '::1' }, () => {
      server.off('error', fail);
      resolve();
    });
  });
}

async function close(servers: readonly Server[]): Promise<void> {
  const closed = servers.map(
    (server) =>
      new Promise<void>((resolve) => {
        server.close(() => resolve());
        server.closeIdleConnections();
      }),
  );
  const timer = setTimeout(() => {
    for (const server of servers) server.closeAllConnections();
  }, graceMs);
  await Promise.all(closed);
  clearTimeout(timer);
}
