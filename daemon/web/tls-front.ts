/** Stands before an https server: whoever speaks plain http to its port is told so, in plain http. */

import { createServer as createHttpServer } from 'node:http';
import type { Server } from 'node:http';
import { createServer } from 'node:net';
import type { Server as NetServer, Socket } from 'node:net';

/** The first byte of a TLS handshake (RFC 8446, section 5.1). */
const handshake = 22;
/** A connection that says nothing for this long is cut. */
const firstByteMs = 10_000;

const sentence = 'This port speaks https only: write https:// in front of the address.\n';

export interface TlsFront {
  /** Takes the connections. */
  readonly listener: NetServer;
  /** Answers those that are not TLS, and nothing else. */
  readonly plain: Server;
  /** Ends every connection, also one in mid-handshake that no server knows of yet. */
  readonly cut: () => void;
}

export function tlsFront(secure: Server): TlsFront {
  const plain = createHttpServer(
    { maxHeaderSize: 16 * 1024, headersTimeout: 10_000, requestTimeout: 10_000 },
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
  const sockets = new Set<Socket>();
  const listener = createServer((socket) => {
    sockets.add(socket);
    socket.on('error', () => socket.destroy());
    socket.once('close', () => sockets.delete(socket));
    socket.setTimeout(firstByteMs, () => socket.destroy());
    socket.once('data', (data) => {
      socket.setTimeout(0);
      socket.removeAllListeners('timeout');
      socket.pause();
      socket.unshift(data);
      (data[0] === handshake ? secure : plain).emit('connection', socket);
      process.nextTick(() => socket.resume());
    });
  });
  const cut = (): void => {
    for (const socket of sockets) socket.destroy();
  };
  return { listener, plain, cut };
}
