/** Listens on this machine, and on the network where it is told to; hands upgrades to the live socket. */

import { createServer } from 'node:http';
import type { IncomingMessage, RequestListener, Server } from 'node:http';
import { createServer as createTlsServer } from 'node:https';
import { isIPv6 } from 'node:net';
import type { AddressInfo, Server as NetServer } from 'node:net';
import type { Duplex } from 'node:stream';
import { getRequestListener } from '@hono/node-server';
import type { TlsPair } from '../settings/door.ts';
import { AcceptBook } from './accept.ts';
import { securityHeaders } from './guard.ts';
import { ProblemError } from './problem.ts';
import { tlsFront } from './tls-front.ts';

export interface WebServer {
  readonly port: number;
  /** The address to print. */
  readonly url: string;
  /** Addresses it listens on: 127.0.0.1, ::1 where this machine has it, and those it was told. */
  readonly addresses: readonly string[];
  /** Takes no more requests, lets running ones end for a second, then cuts. */
  close(): Promise<void>;
}

/** What the application learns of a connection. */
export interface Peer {
  readonly remoteAddress: string | undefined;
  /** The caller may be here: its connection gives way to nobody. */
  readonly vouch: () => void;
}

export interface ServeOptions {
  /** 0 lets the system choose one that is free on every address. */
  readonly port: number;
  /** Addresses beside those of this machine itself. */
  readonly others?: readonly string[];
  /** Left out, it is plain http. */
  readonly tls?: TlsPair | null;
  readonly fetch: (request: Request, peer: Peer) => Response | Promise<Response>;
  readonly upgrade: (
    request: IncomingMessage,
    socket: Duplex,
    head: Buffer,
    vouch: () => void,
  ) => void;
  /** So many connections at once on each address; 200 where it is left out. */
  readonly mostConnections?: number;
  /** Told the port before the first request is heard; once more where another one had to be chosen. */
  readonly opened?: (port: number) => void;
  /** Told of an address that is not there yet; it is tried again until it is. */
  readonly warn?: (sentence: string) => void;
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

const tlsRules = { minVersion: 'TLSv1.2', handshakeTimeout: 10_000 } as const;
const usualConnections = 200;
const graceMs = 1_000;
const chosenPortTries = 5;
/** An address that the network has not given yet is tried again after this long. */
const addressAgainMs = 5_000;

export async function serve(options: ServeOptions): Promise<WebServer> {
  for (let attempt = 1; ; attempt += 1) {
    try {
      return await listenOnAll(options);
    } catch (error) {
      // A port that the system chose for IPv4 may be somebody else's on IPv6; then choose again.
      const again = options.port === 0 && error instanceof PortTakenError;
      if (!again || attempt === chosenPortTries) throw error;
    }
  }
}

/** All of them once; every address of a family stands for each single one. */
function addressesOf(others: readonly string[]): readonly string[] {
  const wanted = [...new Set(['127.0.0.1', '::1', ...others])];
  const all = (family: (address: string) => boolean, every: string): readonly string[] =>
    wanted.includes(every) ? [every] : wanted.filter(family);
  return [...all((address) => !isIPv6(address), '0.0.0.0'), ...all(isIPv6, '::')];
}

async function listenOnAll(options: ServeOptions): Promise<WebServer> {
  const [first = '127.0.0.1', ...rest] = addressesOf(options.others ?? []);
  const gates: Gate[] = [makeGate(options)];
  const addresses = [first];
  let closed = false;
  await listen(gates[0], options.port, first);
  const port = portOf(gates[0]);
  options.opened?.(port);
  const open = async (address: string): Promise<void> => {
    const gate = makeGate(options);
    await listen(gate, port, address);
    if (closed) return closeGates([gate]);
    gates.push(gate);
    addresses.push(address);
  };
  const again = (address: string): void => {
    setTimeout(() => {
      if (!closed) void open(address).catch(() => again(address));
    }, addressAgainMs).unref();
  };
  for (const address of rest) {
    try {
      await open(address);
    } catch (error) {
      // With a stranger on that port the page must not be served: "localhost" would lead to them.
      if (error instanceof PortTakenError) {
        await closeGates(gates);
        throw error;
      }
      // Without IPv6 the page is served all the same. An address of the network may still come.
      if (address === '::1') continue;
      options.warn?.(`The address ${address} is not there yet; it is tried again.`);
      again(address);
    }
  }
  const scheme = options.tls == null ? 'http' : 'https';
  const close = (): Promise<void> => {
    closed = true;
    return closeGates(gates);
  };
  return { port, url: `${scheme}://127.0.0.1:${port}`, addresses, close };
}

/** What listens, and what speaks HTTP behind it; without TLS they are one. */
interface Gate {
  readonly listener: NetServer;
  readonly http: readonly Server[];
  /** Ends every connection. */
  readonly cut: () => void;
}

function portOf(gate: Gate | undefined): number {
  const address: string | AddressInfo | null = gate?.listener.address() ?? null;
  if (address === null || typeof address === 'string') throw new Error('It does not listen.');
  return address.port;
}

function makeGate(options: ServeOptions): Gate {
  const limits = {
    maxHeaderSize: 16 * 1024,
    headersTimeout: 10_000,
    requestTimeout: 30_000,
    connectionsCheckingInterval: 5_000,
  };
  const { tls = null, mostConnections = usualConnections } = options;
  const book = new AcceptBook(mostConnections);
  const server =
    tls === null
      ? createServer(limits, front(options.fetch, book))
      : createTlsServer({ ...limits, ...tls, ...tlsRules }, front(options.fetch, book));
  server.keepAliveTimeout = 5_000;
  server.on('upgrade', (request, socket, head) =>
    options.upgrade(request, socket, head, () => book.vouch(request.socket)),
  );
  if (tls === null) {
    server.on('connection', (socket) => book.arrive(socket));
    return { listener: server, http: [server], cut: () => server.closeAllConnections() };
  }
  const { listener, plain, cut } = tlsFront(server);
  listener.on('connection', (socket) => book.arrive(socket));
  return { listener, http: [server, plain], cut };
}

/** Refuses what cannot be read in one way only, before the application sees it. */
function front(fetch: ServeOptions['fetch'], book: AcceptBook): RequestListener {
  const listener = getRequestListener(
    (request, env) => {
      // Only HTTP/1.1 is served, whose sockets are plain or TLS ones.
      const { socket } = env.incoming as IncomingMessage;
      const { remoteAddress } = socket;
      return fetch(request, { remoteAddress, vouch: () => book.vouch(socket) });
    },
    {
      errorHandler: () =>
        plainProblem(new ProblemError('malformed', 'The request cannot be read.')),
    },
  );
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

function listen(gate: Gate | undefined, port: number, host: string): Promise<void> {
  return new Promise((resolve, reject) => {
    const server = gate?.listener;
    const fail = (error: NodeJS.ErrnoException): void => {
      reject(error.code === 'EADDRINUSE' ? new PortTakenError(port) : error);
    };
    server?.once('error', fail);
    server?.listen({ port, host, exclusive: true, ipv6Only: isIPv6(host) }, () => {
      server.off('error', fail);
      resolve();
    });
  });
}

async function closeGates(gates: readonly Gate[]): Promise<void> {
  const closed = gates.map(
    ({ listener, http }) =>
      new Promise<void>((resolve) => {
        listener.close(() => resolve());
        for (const server of http) server.closeIdleConnections();
      }),
  );
  const timer = setTimeout(() => {
    for (const { cut } of gates) cut();
  }, graceMs);
  await Promise.all(closed);
  clearTimeout(timer);
}
