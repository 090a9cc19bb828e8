/** A line of bytes to a supply, over a plain descriptor or TCP, without any driver between. */

import { execFile } from 'node:child_process';
import { closeSync, constants, fstatSync, openSync, readSync, writeSync } from 'node:fs';
import { connect } from 'node:net';
import type { Socket } from 'node:net';
import { setTimeout as wait } from 'node:timers/promises';
import { promisify } from 'node:util';

export interface Channel {
  /** Sends all bytes, or throws when the line is gone or does not take them in time. */
  write(bytes: Buffer): Promise<void>;
  /** What arrived since the last call, latin1; throws when the line is gone. */
  take(): string;
  close(): void;
}

export const connectWithinMs = 1_000;
const writeWithinMs = 300;
const sttyWithinMs = 500;
const { O_RDWR, O_NOCTTY, O_NONBLOCK } = constants;

function errorCode(error: unknown): unknown {
  return error instanceof Error && 'code' in error ? error.code : undefined;
}

/**
 * A second, plain descriptor on a serial device that control has open. serialport's lock is
 * advisory, so this works while a hung process still holds it. The line keeps the speed and the
 * raw mode that control has set for as long as any descriptor stays open, which is why this one is
 * opened early and held. It is never read while control lives: two readers would share the replies.
 */
export class DescriptorChannel implements Channel {
  readonly #descriptor: number;
  readonly #buffer = Buffer.alloc(1024);

  /** Opens at once; throws when the path cannot be opened or is no device. */
  constructor(path: string) {
    this.#descriptor = openSync(path, O_RDWR | O_NOCTTY | O_NONBLOCK);
    if (!fstatSync(this.#descriptor).isCharacterDevice()) {
      closeSync(this.#descriptor);
      throw new Error(`${path} is not a device`);
    }
  }

  async write(bytes: Buffer): Promise<void> {
    const attempts = writeWithinMs / 10;
    let sent = this.#writeSome(bytes);
    for (let attempt = 0; sent < bytes.length; attempt += 1) {
      if (attempt >= attempts) throw new Error('the line does not take any bytes');
      await wait(10);
      sent += this.#writeSome(bytes.subarray(sent));
    }
  }

  #writeSome(bytes: Buffer): number {
    try {
      return writeSync(this.#descriptor, bytes);
    } catch (error) {
      if (errorCode(error) === 'EAGAIN') return 0;
      throw error;
    }
  }

  take(): string {
    let text = '';
    for (let turn = 0; turn < 8; turn += 1) {
      try {
        const count = readSync(this.#descriptor, this.#buffer);
        if (count === 0) return text;
        text += this.#buffer.toString('latin1', 0, count);
      } catch (error) {
        if (errorCode(error) === 'EAGAIN') return text;
        throw error;
      }
    }
    return text;
  }

  close(): void {
    try {
      closeSync(this.#descriptor);
    } catch {
      // A descriptor whose device is gone is closed either way.
    }
  }
}

/** Without `-hupcl` each closing would drop a modem line, and some supplies restart at the next opening. */
function lineSettings(baudRate: number): readonly string[] {
  return [String(baudRate), 'raw', '-echo', '-hupcl'];
}

/**
 * Opens the device anew, after the held descriptor was lost with its device. A fresh device is at
 * the kernel's default speed, so it is set here; the held one needs none of this.
 */
export async function reopenDevice(path: string, baudRate: number | null): Promise<Channel> {
  const channel = new DescriptorChannel(path);
  if (baudRate === null) return channel;
  const flag = process.platform === 'darwin' ? '-f' : '-F';
  try {
    await promisify(execFile)('stty', [flag, path, ...lineSettings(baudRate)], {
      timeout: sttyWithinMs,
    });
  } catch {
    // Without stty the OFF is still worth sending: USB devices ignore the speed.
  }
  return channel;
}

class SocketChannel implements Channel {
  readonly #socket: Socket;
  #received = '';
  #gone: Error | null = null;

  constructor(socket: Socket) {
    this.#socket = socket;
    socket.setNoDelay(true);
    socket.on('data', (bytes) => (this.#received += bytes.toString('latin1')));
    socket.on('error', (error) => (this.#gone = error));
    socket.on('close', () => (this.#gone ??= new Error('the supply closed the connection')));
  }

  async write(bytes: Buffer): Promise<void> {
    if (this.#gone !== null) throw this.#gone;
    await new Promise<void>((resolve, reject) => {
      const late = () => reject(new Error('the connection does not take any bytes'));
      const timer = setTimeout(late, writeWithinMs);
      this.#socket.write(bytes, (error) => {
        clearTimeout(timer);
        if (error === null || error === undefined) resolve();
        else reject(error);
      });
    });
  }

  take(): string {
    const text = this.#received;
    this.#received = '';
    if (text === '' && this.#gone !== null) throw this.#gone;
    return text;
  }

  close(): void {
    this.#socket.destroy();
  }
}

/** Connects, or throws within a second. */
export function connectSocket(host: string, port: number): Promise<Channel> {
  return new Promise((resolve, reject) => {
    const socket = connect({ host, port });
    const fail = (error: Error) => {
      clearTimeout(timer);
      socket.destroy();
      reject(error);
    };
    const timer = setTimeout(
      () => fail(new Error(`no connection within ${connectWithinMs / 1000} s`)),
      connectWithinMs,
    );
    socket.once('error', fail);
    socket.once('connect', () => {
      clearTimeout(timer);
      socket.off('error', fail);
      resolve(new SocketChannel(socket));
    });
  });
}
