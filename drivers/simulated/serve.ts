/** Serves a simulated instrument over TCP or over this process's standard streams, in real time. */

import { createServer, type Socket } from 'node:net';
import type { Readable, Writable } from 'node:stream';
import type { Instrument } from './model.ts';

export interface ServeTcpOptions {
  /** Default 127.0.0.1. */
  readonly host?: string | undefined;
  /** 0 lets the system choose. */
  readonly port: number;
  /** The instrument's time, ms; default the process's monotonic clock. */
  readonly nowMs?: (() => number) | undefined;
}

export interface TcpServing {
  /** The port that is listened on. */
  readonly port: number;
  close(): Promise<void>;
}

export interface ServeStdioOptions {
  readonly input?: Readable | undefined;
  readonly output?: Writable | undefined;
  /** Ends the serving from this side. */
  readonly signal?: AbortSignal | undefined;
  readonly nowMs?: (() => number) | undefined;
}

/** Carries what is due out of the instrument, with one timer for the next thing due. */
class Pump {
  readonly #instrument: Instrument;
  readonly #nowMs: () => number;
  readonly #send: (bytes: Buffer) => void;
  #timer: NodeJS.Timeout | null = null;
  #closed = false;

  constructor(instrument: Instrument, nowMs: () => number, send: (bytes: Buffer) => void) {
    this.#instrument = instrument;
    this.#nowMs = nowMs;
    this.#send = send;
  }

  receive(bytes: Buffer): void {
    // What was due before these bytes came has left before them.
    this.flush();
    this.#instrument.receive(bytes.toString('latin1'), this.#nowMs());
    this.flush();
  }

  flush(): void {
    if (this.#closed) return;
    const bytes = this.#instrument.take(this.#nowMs());
    if (bytes !== '') this.#send(Buffer.from(bytes, 'latin1'));
    if (this.#timer !== null) clearTimeout(this.#timer);
    const dueMs = this.#instrument.nextDueMs();
    // Faults can make something due without a byte coming in, so a slow look goes on beside.
    const waitMs = dueMs === null ? 100 : Math.min(100, Math.max(0, dueMs - this.#nowMs()));
    this.#timer = setTimeout(() => this.flush(), Math.ceil(waitMs));
  }

  close(): void {
    this.#closed = true;
    if (this.#timer !== null) clearTimeout(this.#timer);
  }
}

/**
 * Serves over TCP. Several clients may connect, as a sentinel does beside a daemon; they share the
 * one supply and its input buffer, and whoever sent last gets the replies. Rejects when it cannot
 * listen.
 */
export function serveTcp(instrument: Instrument, options: ServeTcpOptions): Promise<TcpServing> {
  const sockets = new Set<Socket>();
  let last: Socket | null = null;
  const nowMs = options.nowMs ?? (() => performance.now());
  const pump = new Pump(instrument, nowMs, (bytes) => {
    if (last?.writable === true) last.write(bytes);
  });
  const server = createServer((socket) => {
    sockets.add(socket);
    last ??= socket;
    socket.setNoDelay(true);
    socket.on('data', (bytes: Buffer) => {
      last = socket;
      pump.receive(bytes);
    });
    socket.on('error', () => socket.destroy());
    socket.on('close', () => {
      sockets.delete(socket);
      if (last === socket) last = [...sockets].at(-1) ?? null;
    });
  });
  function close(): Promise<void> {
    pump.close();
    for (const socket of sockets) socket.destroy();
    return new Promise((resolve) => {
      server.close(() => resolve());
    });
  }
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(options.port, options.host ?? '127.0.0.1', () => {
      const address = server.address();
      pump.flush();
      resolve({ port: typeof address === 'object' && address !== null ? address.port : 0, close });
    });
  });
}

/**
 * Serves over the standard streams, which then carry nothing else. Resolves when the input ends,
 * when either stream fails, as it does when the other side closes, or when `signal` says so.
 */
export function serveStdio(instrument: Instrument, options: ServeStdioOptions = {}): Promise<void> {
  const input = options.input ?? process.stdin;
  const output = options.output ?? process.stdout;
  const nowMs = options.nowMs ?? (() => performance.now());
  return new Promise((resolve) => {
    const pump = new Pump(instrument, nowMs, (bytes) => output.write(bytes));
    const listen = (bytes: Buffer): void => pump.receive(bytes);
    function end(): void {
      pump.close();
      input.off('data', listen);
      input.pause();
      resolve();
    }
    input.on('data', listen);
    input.once('end', end);
    input.once('close', end);
    // A broken pipe can be told more than once; each telling needs a listener.
    input.on('error', end);
    output.on('error', end);
    options.signal?.addEventListener('abort', end);
    pump.flush();
  });
}
