/** The door to control: a client of its local socket, and what planning has to know of a tank. */

import { connect, type Socket } from 'node:net';
import {
  commandAnswerSchema,
  controlMessageSchema,
  type Command,
  type CommandAnswer,
  type ControlMessage,
} from '../wire/command.ts';
import { JsonLines, longestRequest } from './json-lines.ts';

export { tankFacts } from './facts.ts';

export interface ControlClient {
  readonly alive: boolean;
  /** Sends a command; the key makes a repeat harmless. Rejects when control is away or mute. */
  command(command: Command, key: string): Promise<CommandAnswer>;
  onMessage(listener: (message: ControlMessage) => void): void;
  onAlive(listener: (alive: boolean) => void): void;
  close(): void;
}

/** An OFF that is not confirmed at the first try may take this long to be answered. */
const answerWithinMs = 8_000;
const reconnectMs = 250;
/** Readings of four tanks and a long event are far below this. */
const longestLineBytes = 4 * 1024 * 1024;

interface Waiting {
  readonly resolve: (answer: CommandAnswer) => void;
  readonly reject: (error: Error) => void;
  readonly timer: NodeJS.Timeout;
}

class SocketClient implements ControlClient {
  readonly #path: string;
  readonly #waiting = new Map<number, Waiting>();
  readonly #messages: ((message: ControlMessage) => void)[] = [];
  readonly #alives: ((alive: boolean) => void)[] = [];
  #socket: Socket | null = null;
  #alive = false;
  #closed = false;
  #nextId = 1;
  #retry: NodeJS.Timeout | null = null;

  constructor(path: string) {
    this.#path = path;
    this.#connect();
  }

  get alive(): boolean {
    return this.#alive;
  }

  command(command: Command, key: string): Promise<CommandAnswer> {
    const socket = this.#socket;
    if (socket === null || !this.#alive) {
      return Promise.reject(new Error('The control process is not reachable.'));
    }
    const id = this.#nextId;
    this.#nextId += 1;
    const line = JSON.stringify({ id, key, command });
    // Control would hang up on it, and with it on every other command under way.
    if (line.length > longestRequest) {
      const sentence = `The command has ${line.length} characters; it may have at most ${longestRequest}.`;
      return Promise.reject(new Error(sentence));
    }
    return new Promise((resolve, reject) => {
      const timer = setTimeout(() => {
        this.#waiting.delete(id);
        reject(new Error(`The control process did not answer within ${answerWithinMs / 1000} s.`));
      }, answerWithinMs);
      this.#waiting.set(id, { resolve, reject, timer });
      socket.write(`${line}\n`);
    });
  }

  onMessage(listener: (message: ControlMessage) => void): void {
    this.#messages.push(listener);
  }

  onAlive(listener: (alive: boolean) => void): void {
    this.#alives.push(listener);
  }

  close(): void {
    this.#closed = true;
    if (this.#retry !== null) clearTimeout(this.#retry);
    this.#socket?.destroy();
    this.#drop();
  }

  #connect(): void {
    const socket = connect(this.#path);
    const lines = new JsonLines(longestLineBytes, (value) => this.#receive(value));
    socket.setEncoding('utf8');
    socket.on('connect', () => {
      this.#socket = socket;
      this.#setAlive(true);
    });
    socket.on('data', (text: string) => {
      if (!lines.push(text)) socket.destroy();
    });
    // A close follows every error; it is the one place where the connection ends.
    socket.on('error', () => undefined);
    socket.on('close', () => {
      this.#drop();
      if (!this.#closed) this.#retry = setTimeout(() => this.#connect(), reconnectMs);
    });
  }

  #receive(value: unknown): void {
    const parsed = controlMessageSchema.safeParse(value);
    if (!parsed.success) return;
    const message = parsed.data;
    if (message.type !== 'answer') {
      for (const listener of this.#messages) listener(message);
      return;
    }
    const waiting = this.#waiting.get(message.id);
    if (waiting === undefined) return;
    this.#waiting.delete(message.id);
    clearTimeout(waiting.timer);
    waiting.resolve(commandAnswerSchema.parse(message.answer));
  }

  #drop(): void {
    this.#socket = null;
    for (const waiting of this.#waiting.values()) {
      clearTimeout(waiting.timer);
      waiting.reject(new Error('The control process went away before it answered.'));
    }
    this.#waiting.clear();
    this.#setAlive(false);
  }

  #setAlive(alive: boolean): void {
    if (alive === this.#alive) return;
    this.#alive = alive;
    for (const listener of this.#alives) listener(alive);
  }
}

/** Connects to a control process by its socket path, now and again whenever the line is lost. */
export function connectControl(socketPath: string): ControlClient {
  return new SocketClient(socketPath);
}
