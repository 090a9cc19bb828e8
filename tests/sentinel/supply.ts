/** A tiny supply on a TCP socket of this machine: takes OFF, tells its state, and can misbehave. */

import { createServer } from 'node:net';
import type { Server, Socket } from 'node:net';
import type { SentinelOffScript, TankReport } from '../../daemon/wire/process.ts';

/** What control reports of a tank that holds well within its limits. */
export const holdingReport: TankReport = {
  tankId: 'one',
  runId: 'run-1',
  output: 'on',
  switchedOn: true,
  amps: 0.5,
  askedAmps: 0.5,
  askedVolts: 3,
  readAmps: 0.5,
  readVolts: 3,
};

export class TcpSupply {
  readonly server: Server;
  readonly received: string[] = [];
  readonly #sockets = new Set<Socket>();
  outputOn = true;
  /** Takes OFF only after it was sent this often. */
  deafTo = 0;
  answers = true;
  /** What it says to *IDN?; it keeps silent without one. */
  identity: string | null = null;
  /** Sends back what it hears, and takes its time for a reply. */
  echoes = false;
  replyAfterMs = 0;

  private constructor(server: Server) {
    this.server = server;
  }

  static async listen(): Promise<TcpSupply> {
    const server = createServer();
    const supply = new TcpSupply(server);
    server.on('connection', (socket) => {
      supply.#sockets.add(socket);
      socket.on('error', () => {});
      socket.on('data', (bytes) => supply.#hear(bytes.toString('latin1'), socket));
    });
    await new Promise<void>((resolve) => {
      server.listen(0, '127.0.0.1', resolve);
    });
    return supply;
  }

  #hear(text: string, socket: Socket): void {
    for (const line of text.split('\n').filter((one) => one !== '')) {
      this.received.push(line);
      if (line === 'OUTP OFF') {
        this.deafTo -= 1;
        if (this.deafTo < 0) this.outputOn = false;
      }
      if (this.echoes) socket.write(`${line}\r\n`);
      if (line === '*IDN?' && this.identity !== null) this.#reply(socket, this.identity);
      if (line === 'OUTP?' && this.answers) this.#reply(socket, this.outputOn ? '1' : '0');
    }
  }

  #reply(socket: Socket, text: string): void {
    setTimeout(() => socket.write(`${text}\n`), this.replyAfterMs);
  }

  get script(): SentinelOffScript {
    const address = this.server.address();
    const port = typeof address === 'object' ? address?.port : undefined;
    if (port === undefined) throw new Error('The trial supply has no port.');
    return { ...lineScript, path: `tcp://127.0.0.1:${port}` };
  }

  get connections(): number {
    return this.#sockets.size;
  }

  async close(): Promise<void> {
    for (const socket of this.#sockets) socket.destroy();
    await new Promise<void>((resolve) => {
      this.server.close(() => resolve());
    });
  }
}

/** The OFF of a plain SCPI supply, without its path. */
export const lineScript: SentinelOffScript = {
  path: null,
  baudRate: 9600,
  off: '\nOUTP OFF\n',
  verifyQuery: 'OUTP?\n',
  verifyOffPattern: '^(0|OFF)$',
  identity: null,
};
