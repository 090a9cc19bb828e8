/** The part that a serial port and a socket share: one connection object per opening, deadlines. */

import { RectifierError, type DriverClock } from '../contract.ts';
import { withDeadline } from './deadline.ts';
import { Inbox } from './inbox.ts';
import type { Framing, Link, LinkCounters } from './link.ts';

const OPEN_TIMEOUT_MS = 3000;
const WRITE_TIMEOUT_MS = 500;
const DRAIN_TIMEOUT_MS = 1000;
const CLOSE_TIMEOUT_MS = 2000;
const DISCARD_LOOK_MS = 10;

/** One opened port or socket. It is never opened a second time. */
export interface Connection {
  isOpen(): boolean;
  write(bytes: Buffer): Promise<void>;
  drain(): Promise<void>;
  close(): Promise<void>;
}

/** What a connection reports; each may come late, twice or after the other. */
export interface ConnectionListener {
  onBytes(bytes: Buffer): void;
  onClosed(): void;
}

/**
 * Opens a new connection, or throws a `RectifierError` of kind `cannotOpen` or `locked`. The signal
 * says that nobody waits for it any more.
 */
export type Connect = (listener: ConnectionListener, signal: AbortSignal) => Promise<Connection>;

class StreamLink implements Link {
  readonly name: string;
  readonly counters: LinkCounters = { bytesWritten: 0, bytesRead: 0, frames: 0, overflows: 0 };
  readonly #connect: Connect;
  readonly #clock: DriverClock;
  readonly #inbox: Inbox;
  #connection: Connection | null = null;
  #opening = 0;
  #lost = false;
  #discarding = 0;

  constructor(name: string, connect: Connect, clock: DriverClock, framing: Framing) {
    this.name = name;
    this.#connect = connect;
    this.#clock = clock;
    this.#inbox = new Inbox(name, framing, this.counters);
  }

  get isOpen(): boolean {
    return this.#connection?.isOpen() === true;
  }

  async open(): Promise<void> {
    await this.close();
    const attempt = ++this.#opening;
    this.#inbox.clear(false);
    const current = (): boolean => attempt === this.#opening;
    const abort = new AbortController();
    const listener: ConnectionListener = {
      onBytes: (bytes) => {
        if (current()) this.#inbox.push(bytes);
      },
      onClosed: () => {
        if (current()) this.#lose();
      },
    };
    const connecting = this.#connect(listener, abort.signal);
    const late = (): Error =>
      new RectifierError('cannotOpen', `${this.name} did not open in ${OPEN_TIMEOUT_MS} ms.`);
    try {
      const connection = await withDeadline(connecting, OPEN_TIMEOUT_MS, late);
      if (!current()) throw new RectifierError('closed', `${this.name} was closed meanwhile.`);
      this.#connection = connection;
      this.#lost = false;
    } catch (error) {
      abort.abort();
      // It may still open later, and would keep the port's lock.
      connecting.then(abandon, () => undefined);
      throw error;
    }
  }

  write(bytes: string): Promise<void> {
    const connection = this.#connection;
    if (connection === null || !connection.isOpen()) return Promise.reject(this.#gone());
    this.counters.bytesWritten += bytes.length;
    const late = (): Error =>
      new RectifierError(
        'timeout',
        `${this.name} did not take ${bytes.length} bytes in ${WRITE_TIMEOUT_MS} ms.`,
      );
    return withDeadline(
      connection.write(Buffer.from(bytes, 'latin1')),
      WRITE_TIMEOUT_MS,
      late,
    ).catch((error: unknown) => {
      if (error instanceof RectifierError) throw error;
      throw new RectifierError('closed', `${this.name} is gone: a write failed.`, { cause: error });
    });
  }

  async drain(): Promise<void> {
    const connection = this.#connection;
    if (connection === null || !connection.isOpen()) return;
    const late = (): Error => new RectifierError('timeout', `${this.name} does not drain.`);
    await withDeadline(connection.drain(), DRAIN_TIMEOUT_MS, late).catch(() => undefined);
  }

  next(deadlineMs: number): Promise<string> {
    return new Promise<string>((resolve, reject) => {
      const frame = this.#inbox.take();
      if (frame !== undefined) {
        resolve(frame);
        return;
      }
      if (!this.isOpen) {
        reject(this.#gone());
        return;
      }
      const waiter = {
        resolve: (value: string) => {
          clearTimeout(timer);
          resolve(value);
        },
        reject: (error: RectifierError) => {
          clearTimeout(timer);
          reject(error);
        },
      };
      const timer = setTimeout(
        () => {
          this.#inbox.forget(waiter);
          reject(new RectifierError('timeout', `${this.name} gave no reply in time.`));
        },
        Math.max(0, deadlineMs - this.#clock.nowMs()),
      );
      this.#inbox.await(waiter);
    });
  }

  take(): string | undefined {
    return this.#inbox.take();
  }

  async discard(quietMs: number, capMs: number): Promise<void> {
    const turn = ++this.#discarding;
    const startMs = this.#clock.nowMs();
    let quietFromMs = startMs;
    let arrivals = this.#inbox.arrivals;
    this.#inbox.clear(true);
    for (;;) {
      const nowMs = this.#clock.nowMs();
      if (this.#inbox.arrivals !== arrivals) quietFromMs = nowMs;
      arrivals = this.#inbox.arrivals;
      const leftMs = Math.min(quietFromMs + quietMs, startMs + capMs) - nowMs;
      if (leftMs <= 0 || !this.isOpen) break;
      await this.#clock.sleep(Math.min(leftMs, DISCARD_LOOK_MS));
      if (turn !== this.#discarding) return;
    }
    this.#inbox.clear(false);
  }

  interrupt(): void {
    this.#discarding += 1;
    this.#inbox.clear(false);
    this.#inbox.interrupt();
  }

  async close(): Promise<void> {
    const connection = this.#connection;
    this.#inbox.fail(() => this.#gone());
    this.#connection = null;
    this.#lost = false;
    this.#opening += 1;
    this.#discarding += 1;
    if (connection === null) return;
    const late = (): Error => new RectifierError('closed', `${this.name} does not close.`);
    // A port that will not close is left behind; the next opening uses a new object.
    await withDeadline(connection.close(), CLOSE_TIMEOUT_MS, late).catch(() => undefined);
  }

  #lose(): void {
    this.#lost = true;
    this.#inbox.fail(() => this.#gone());
  }

  #gone(): RectifierError {
    if (this.#lost || this.#connection !== null) {
      return new RectifierError('closed', `${this.name} is gone: the line was closed.`);
    }
    return new RectifierError('notOpen', `${this.name} is not open.`);
  }
}

async function abandon(connection: Connection): Promise<void> {
  await connection.close().catch(() => undefined);
}

/** A link over connections that `connect` opens. */
export function createStreamLink(
  name: string,
  connect: Connect,
  clock: DriverClock,
  framing: Framing,
): Link {
  return new StreamLink(name, connect, clock, framing);
}
