/** Serves commands and pictures of the bench on a local socket that only this user can open. */

import { chmodSync, mkdirSync, rmSync } from 'node:fs';
import { connect, createServer, type Server, type Socket } from 'node:net';
import { dirname } from 'node:path';
import { controlRequestSchema, type CommandAnswer, type ControlMessage } from '../wire/command.ts';
import type { ControlRequest } from '../wire/command.ts';
import { JsonLines, longestRequest } from './json-lines.ts';

/** A reader that falls this far behind is cut off; it may come again. */
const longestBacklogBytes = 4 * 1024 * 1024;

/** Another process answers for this bench: its outputs are not ours to switch. */
export class BenchTakenError extends Error {
  override readonly name = 'BenchTakenError';
}

export type Answer = (request: ControlRequest) => Promise<CommandAnswer>;

export class ControlSocket {
  readonly #path: string;
  readonly #answer: Answer;
  readonly #clients = new Set<Socket>();
  readonly #server: Server;
  readonly #greet: () => readonly ControlMessage[];

  constructor(path: string, answer: Answer, greet: () => readonly ControlMessage[]) {
    this.#path = path;
    this.#answer = answer;
    this.#greet = greet;
    this.#server = createServer((socket) => this.#serve(socket));
  }

  /** Listens; a socket left by a dead process is replaced, one that answers is an error. */
  async listen(): Promise<void> {
    if (!this.#path.startsWith('\\\\')) {
      mkdirSync(dirname(this.#path), { recursive: true, mode: 0o700 });
      if (await answers(this.#path)) {
        throw new BenchTakenError(
          `Another Nightbath runs this bench already (${this.#path} answers).`,
        );
      }
      rmSync(this.#path, { force: true });
    }
    await new Promise<void>((resolve, reject) => {
      this.#server.once('error', reject);
      this.#server.listen(this.#path, resolve);
    });
    if (!this.#path.startsWith('\\\\')) chmodSync(this.#path, 0o600);
  }

  publish(message: ControlMessage): void {
    if (this.#clients.size === 0) return;
    const line = `${JSON.stringify(message)}\n`;
    for (const client of this.#clients) {
      if (client.writableLength > longestBacklogBytes) client.destroy();
      else client.write(line);
    }
  }

  async close(): Promise<void> {
    for (const client of this.#clients) client.destroy();
    await new Promise<void>((resolve) => this.#server.close(() => resolve()));
  }

  #serve(socket: Socket): void {
    this.#clients.add(socket);
    socket.setEncoding('utf8');
    const lines = new JsonLines(longestRequest, (value) => this.#request(socket, value));
    socket.on('data', (text: string) => {
      if (!lines.push(text)) socket.destroy();
    });
    socket.on('error', () => undefined);
    socket.on('close', () => this.#clients.delete(socket));
    for (const message of this.#greet()) socket.write(`${JSON.stringify(message)}\n`);
  }

  #request(socket: Socket, value: unknown): void {
    const request = requestOf(value);
    if (request === null) {
      socket.destroy();
      return;
    }
    const { id } = request;
    this.#answer(request)
      .catch((error: unknown): CommandAnswer => {
        const reason = error instanceof Error ? error.message : String(error);
        return { ok: false, code: 'unavailable', reason, problems: [] };
      })
      .then((answer) => {
        const message: ControlMessage = { type: 'answer', id, answer };
        if (!socket.destroyed) socket.write(`${JSON.stringify(message)}\n`);
      })
      .catch(() => socket.destroy());
  }
}

/** A sound request, or null. A check may throw where a value cannot even be compared. */
function requestOf(value: unknown): ControlRequest | null {
  try {
    return controlRequestSchema.safeParse(value).data ?? null;
  } catch {
    return null;
  }
}

function answers(path: string): Promise<boolean> {
  return new Promise((resolve) => {
    const probe = connect(path);
    const done = (answer: boolean): void => {
      probe.destroy();
      resolve(answer);
    };
    probe.once('connect', () => done(true));
    probe.once('error', () => done(false));
  });
}
