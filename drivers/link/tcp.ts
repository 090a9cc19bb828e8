/** A link over a TCP socket. */

import { connect as connectSocket, type Socket } from 'node:net';
import { RectifierError, type DriverClock } from '../contract.ts';
import type { Framing, Link } from './link.ts';
import { createStreamLink, type Connection, type ConnectionListener } from './stream-link.ts';

const KEEP_ALIVE_MS = 5000;

class TcpConnection implements Connection {
  readonly #socket: Socket;

  constructor(socket: Socket) {
    this.#socket = socket;
  }

  isOpen(): boolean {
    return this.#socket.readyState === 'open';
  }

  write(bytes: Buffer): Promise<void> {
    return new Promise((resolve, reject) => {
      this.#socket.write(bytes, (error) => (error ? reject(error) : resolve()));
    });
  }

  drain(): Promise<void> {
    return Promise.resolve();
  }

  close(): Promise<void> {
    return new Promise((resolve) => {
      if (this.#socket.closed) {
        resolve();
        return;
      }
      this.#socket.once('close', () => resolve());
      // Sends what is written, then closes; a peer that keeps its side open is not waited for.
      this.#socket.end(() => this.#socket.destroy());
    });
  }
}

/** A link to `host:port`. */
export function createTcpLink(
  { host, port }: { readonly host: string; readonly port: number },
  clock: DriverClock,
  framing: Framing,
): Link {
  const name = `tcp://${host.includes(':') ? `[${host}]` : host}:${port}`;
  const connect = (listener: ConnectionListener, signal: AbortSignal): Promise<Connection> =>
    new Promise((resolve, reject) => {
      const socket = connectSocket({ host, port });
      signal.addEventListener('abort', () => socket.destroy());
      socket.setNoDelay(true);
      socket.setKeepAlive(true, KEEP_ALIVE_MS);
      socket.on('data', (bytes) => listener.onBytes(bytes));
      socket.on('error', (error) => {
        const message = `${name} cannot be reached: ${error.message}.`;
        reject(new RectifierError('cannotOpen', message, { cause: error }));
      });
      // A peer that ends its side will not answer any more.
      socket.on('end', () => socket.destroy());
      socket.on('close', () => listener.onClosed());
      socket.once('connect', () => resolve(new TcpConnection(socket)));
    });
  return createStreamLink(name, connect, clock, framing);
}
