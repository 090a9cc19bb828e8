/** Stands before an https server: whoever speaks plain http to its port is told so, in plain http. */

import { createServer as createHttpServer } from 'node:http';
import type { Server } from 'node:http';
import { createServer } from 'node:net';
import type { Server as NetServer, Socket } from 'node:net';
import { endsOf } from './accept.ts';

/** The first byte of a TLS handshake (RFC 8446, section 5.1). */
const handshake = 22;
/** From its start a connection has this long for the handshake and the head of its first request. */
const firstRequestMs = 15_000;
/** Node looks this often for requests that are overdue. */
const checkMs = 5_000;

const sentence = 'This port speaks https only: write https:// in front of the address.\n';

export interface TlsFront {
  /** Takes the connections. */
  readonly listener: NetServer;
  /** Answers those that are not TLS, and nothing else. */
  readonly plain: Server;
  /** Ends every connection, also one in mid-handshake that no server knows of yet. */
  readonly cut: () => void;
}

/** `withinMs` is for a connection's first request, from its start; later ones are for `secure`. */
export function tlsFront(secure: Server, withinMs = firstRequestMs): TlsFront {
  const plain = createHttpServer(
    {
      maxHeaderSize: 16 * 1024,
      headersTimeout: 10_000,
      requestTimeout: 10_000,
      connectionsCheckingInterval: checkMs,
    },
    (_request, response) => {
      response.writeHead(426, {
        'content-type': 'text/plain; charset=utf-8',
        'cache-control': 'no-store',
        'x-content-type-options': 'nosniff',
        // RFC 9110 wants 426 to name what is needed.
        upgrade: 'TLS/1.2, HTTP/1.1',
        connection: 'upgrade, close',
      });
      response.end(sentence);
    },
  );
  plain.on('upgrade', (_request, socket) => socket.destroy());
  const waiting = new Map<string, NodeJS.Timeout>();
  const settle = (socket: Socket): void => {
    const key = endsOf(socket);
    clearTimeout(waiting.get(key));
    waiting.delete(key);
  };
  // A plain request is not settled: what it is told ends its connection, or the time does.
  secure.on('request', ({ socket }) => settle(socket));
  secure.on('upgrade', ({ socket }) => settle(socket));
  const sockets = new Set<Socket>();
  const listener = createServer((socket) => {
    const key = endsOf(socket);
    // Not the socket's own time-out: each byte of a handshake that drips in would begin that anew.
    const timer = setTimeout(() => socket.destroy(), withinMs).unref();
    waiting.set(key, timer);
    sockets.add(socket);
    socket.on('error', () => socket.destroy());
    socket.once('close', () => {
      sockets.delete(socket);
      clearTimeout(timer);
      if (waiting.get(key) === timer) waiting.delete(key);
    });
    socket.once('data', (data) => {
      socket.pause();
      socket.unshift(data);
      (data[0] === handshake ? secure : plain).emit('connection', socket);
      process.nextTick(() => socket.resume());
    });
  });
  runTimeouts(listener, [secure, plain]);
  const cut = (): void => {
    for (const socket of sockets) socket.destroy();
  };
  return { listener, plain, cut };
}

/** An HTTP server looks for overdue requests from when it listens, which these never do themselves. */
function runTimeouts(listener: NetServer, servers: readonly Server[]): void {
  listener.once('listening', () => {
    for (const server of servers) server.emit('listening');
  });
  listener.once('close', () => {
    for (const server of servers) server.close();
  });
}
