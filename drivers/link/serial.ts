/** A link over a serial port, found anew by its path at every opening. */

import { realpath, stat } from 'node:fs/promises';
import { SerialPort } from 'serialport';
import { RectifierError, type DriverClock } from '../contract.ts';
import type { Framing, Link } from './link.ts';
import { createStreamLink, type Connection, type ConnectionListener } from './stream-link.ts';

/** The electrical side of a serial line, as the dialect gives it. */
export interface SerialOptions {
  /** A device path; a stable one such as /dev/serial/by-id/… is followed at every opening. */
  readonly path: string;
  readonly baudRate: number;
  readonly dataBits: 7 | 8;
  readonly parity: 'none' | 'even' | 'odd';
  readonly stopBits: 1 | 2;
  readonly flow: 'none' | 'rtscts' | 'xonxoff';
  /** Modem lines to set after opening; left out, they stay as the system leaves them. */
  readonly dtr?: boolean | undefined;
  readonly rts?: boolean | undefined;
}

/** serialport gives no error codes on opening; these are the words of its Linux and macOS binding. */
const OPEN_ERRORS: readonly [RegExp, RectifierError['kind'], string][] = [
  [/cannot lock port/i, 'locked', 'is in use by another program.'],
  [/resource busy/i, 'locked', 'is in use by another program.'],
  [
    /permission denied|access denied/i,
    'cannotOpen',
    'may not be opened by this user; on Linux the group dialout may.',
  ],
  [/no such file|file not found/i, 'cannotOpen', 'does not exist. Is it plugged in?'],
  [/no such device/i, 'cannotOpen', 'has no device behind it. Is it plugged in?'],
  [/is a directory/i, 'cannotOpen', 'is a directory, not a serial port.'],
  [/inappropriate ioctl|not a typewriter/i, 'cannotOpen', 'is not a serial port.'],
];

/** The typed error for a failed opening, naming the path as the maker wrote it. */
export function serialOpenError(path: string, cause: unknown): RectifierError {
  const text = cause instanceof Error ? cause.message : String(cause);
  const known = OPEN_ERRORS.find(([pattern]) => pattern.test(text));
  const kind = known?.[1] ?? 'cannotOpen';
  const what = known?.[2] ?? `cannot be opened: ${text}.`;
  return new RectifierError(kind, `${path} ${what}`, { cause });
}

/** The device behind a path now. By-id links move when the adapter is plugged in again. */
async function resolvePath(path: string): Promise<string> {
  if (!path.startsWith('/')) return path;
  const resolved = await realpath(path);
  const found = await stat(resolved);
  if (found.isDirectory()) throw new Error('Is a directory, cannot open');
  if (!found.isCharacterDevice()) throw new Error('Inappropriate ioctl for device: a plain file');
  return resolved;
}

function settled(act: (done: (error?: Error | null) => void) => void): Promise<void> {
  return new Promise((resolve, reject) => {
    act((error) => (error ? reject(error) : resolve()));
  });
}

class SerialConnection implements Connection {
  readonly #port: SerialPort;

  constructor(port: SerialPort) {
    this.#port = port;
  }

  isOpen(): boolean {
    return this.#port.isOpen;
  }

  write(bytes: Buffer): Promise<void> {
    return settled((done) => void this.#port.write(bytes, done));
  }

  drain(): Promise<void> {
    return settled((done) => this.#port.drain(done));
  }

  close(): Promise<void> {
    if (!this.#port.isOpen) return Promise.resolve();
    return settled((done) => this.#port.close(done));
  }
}

function openPort(
  options: SerialOptions,
  path: string,
  listener: ConnectionListener,
): Promise<SerialPort> {
  return new Promise((resolve, reject) => {
    const port = new SerialPort({
      path,
      baudRate: options.baudRate,
      dataBits: options.dataBits,
      parity: options.parity,
      stopBits: options.stopBits,
      rtscts: options.flow === 'rtscts',
      xon: options.flow === 'xonxoff',
      xoff: options.flow === 'xonxoff',
      autoOpen: false,
      hupcl: false,
      lock: true,
    });
    // An unplugging gives `error` and one or two `close` events; all of them mean the same.
    port.on('error', () => {
      if (!port.isOpen) listener.onClosed();
    });
    port.on('close', () => listener.onClosed());
    port.open((error) => {
      if (error) {
        reject(error);
        return;
      }
      // Before the first read is issued an unplugging would never be reported.
      port.on('data', (bytes: Buffer) => listener.onBytes(bytes));
      resolve(port);
    });
  });
}

async function setModemLines(port: SerialPort, options: SerialOptions): Promise<void> {
  if (options.dtr === undefined && options.rts === undefined) return;
  const lines = { dtr: options.dtr ?? true, rts: options.rts ?? true };
  // A pseudo-terminal has no modem lines.
  await settled((done) => port.set(lines, done)).catch(() => undefined);
}

/** A link over a serial port. */
export function createSerialLink(
  options: SerialOptions,
  clock: DriverClock,
  framing: Framing,
): Link {
  const connect = async (listener: ConnectionListener): Promise<Connection> => {
    try {
      const path = await resolvePath(options.path);
      const port = await openPort(options, path, listener);
      await setModemLines(port, options);
      return new SerialConnection(port);
    } catch (error) {
      throw serialOpenError(options.path, error);
    }
  };
  return createStreamLink(options.path, connect, clock, framing);
}
