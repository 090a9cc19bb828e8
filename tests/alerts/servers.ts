/** Real servers on loopback for the tests of channels: web addresses and mail. */

import {
  createServer,
  type IncomingHttpHeaders,
  type Server,
  type ServerResponse,
} from 'node:http';
import type { AddressInfo } from 'node:net';
import { SMTPServer, type SMTPServerOptions } from 'smtp-server';
import { onTestFinished } from 'vitest';

export interface Posted {
  readonly method: string;
  readonly path: string;
  readonly headers: IncomingHttpHeaders;
  readonly body: string;
}

type Answer = (response: ServerResponse, posted: Posted) => void;

/** A web address that keeps what it is sent, and answers as it is told to. */
export class WebAddress {
  readonly posted: Posted[] = [];
  answer: Answer = (response) => response.end('ok');
  readonly #server: Server;

  private constructor() {
    this.#server = createServer((request, response) => {
      const parts: Buffer[] = [];
      request.on('data', (part: Buffer) => parts.push(part));
      request.on('end', () => {
        const { method = '', url = '', headers } = request;
        const posted = { method, path: url, headers, body: Buffer.concat(parts).toString() };
        this.posted.push(posted);
        this.answer(response, posted);
      });
    });
  }

  static async open(): Promise<WebAddress> {
    const address = new WebAddress();
    await new Promise<void>((resolve) => address.#server.listen(0, '127.0.0.1', resolve));
    onTestFinished(() => address.close());
    return address;
  }

  get url(): string {
    return `http://127.0.0.1:${(this.#server.address() as AddressInfo).port}/hook/t0ken-of-the-phone`;
  }

  close(): void {
    this.#server.closeAllConnections();
    this.#server.close();
  }
}

export interface Mail {
  readonly from: string;
  readonly to: readonly string[];
  readonly source: string;
  readonly secure: boolean;
  readonly user: string | null;
}

/** A mail server that keeps what it takes. */
export class MailServer {
  readonly taken: Mail[] = [];
  readonly #server: SMTPServer;
  port = 0;

  private constructor(options: SMTPServerOptions) {
    this.#server = new SMTPServer({
      logger: false,
      onAuth: ({ username = '', password }, _session, done) =>
        password === 'w0rd-of-pass'
          ? done(null, { user: username })
          : done(new Error(`not the password: ${password}`)),
      onData: (stream, session, done) => {
        const parts: Buffer[] = [];
        stream.on('data', (part: Buffer) => parts.push(part));
        stream.on('end', () => {
          const { mailFrom, rcptTo } = session.envelope;
          this.taken.push({
            from: mailFrom === false ? '' : mailFrom.address,
            to: rcptTo.map(({ address }) => address),
            source: Buffer.concat(parts).toString(),
            secure: session.secure,
            user: session.user ?? null,
          });
          done();
        });
      },
      ...options,
    });
    this.#server.on('error', () => undefined);
  }

  static async open(options: SMTPServerOptions = {}): Promise<MailServer> {
    const mail = new MailServer(options);
    await new Promise<void>((resolve) => mail.#server.listen(0, '127.0.0.1', resolve));
    mail.port = (mail.#server.server.address() as AddressInfo).port;
    onTestFinished(() => new Promise<void>((resolve) => mail.#server.close(() => resolve())));
    return mail;
  }
}
