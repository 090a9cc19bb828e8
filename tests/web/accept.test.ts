/** A listener whose places are all taken: who is let in, who gives way, and who does not. */

import { EventEmitter, once } from 'node:events';
import { connect, type Socket } from 'node:net';
import { connect as connectTls } from 'node:tls';
import { describe, expect, onTestFinished, test } from 'vitest';
import { AcceptBook } from '../../daemon/web/accept.ts';
import { serve } from '../../daemon/web/server.ts';
import { certificate } from './certificate.ts';
import { guardedWeb, otherName } from './sign-in.ts';

const places = 10;
const tls = certificate(otherName);

/** A server that knows whoever says so, and answers everybody. */
async function served(secure: boolean) {
  const server = await serve({
    port: 0,
    mostConnections: places,
    tls: secure ? tls : null,
    fetch: (request, { vouch }) => {
      if (request.headers.has('x-known')) vouch();
      return new Response('here');
    },
    upgrade: (_request, socket) => socket.destroy(),
  });
  onTestFinished(() => server.close());
  const open: Socket[] = [];
  onTestFinished(() => {
    for (const socket of open) socket.destroy();
  });
  const join = async (): Promise<Socket> => {
    const socket = secure
      ? connectTls({ port: server.port, host: '127.0.0.1', ca: tls.cert, servername: otherName })
      : connect(server.port, '127.0.0.1');
    socket.on('error', () => undefined);
    open.push(socket);
    await once(socket, secure ? 'secureConnect' : 'connect');
    return socket;
  };
  return { join };
}

/** Asks on a connection that stays open; the status line. */
async function ask(socket: Socket, known: boolean): Promise<string> {
  const header = known ? 'X-Known: yes\r\n' : '';
  socket.write(`GET / HTTP/1.1\r\nHost: ${otherName}\r\n${header}\r\n`);
  const [reply] = (await once(socket, 'data')) as [Buffer];
  return reply.toString().split('\r\n')[0] ?? '';
}

describe.each([
  ['http', false],
  ['https', true],
] as const)('a listener of %s', (_scheme, secure) => {
  test('that is full of silent connections lets a newcomer in, and the oldest go', async () => {
    const { join } = await served(secure);
    const silent: Socket[] = [];
    for (let count = 0; count < places; count += 1) silent.push(await join());
    for (const oldest of silent.slice(0, 4)) {
      const gone = once(oldest, 'close');
      expect(await ask(await join(), false)).toBe('HTTP/1.1 200 OK');
      await gone;
    }
    expect(silent.slice(4).map(({ closed }) => closed)).toEqual(Array(6).fill(false));
  });

  test('keeps whoever was let in, however many come after', async () => {
    const { join } = await served(secure);
    const maker = await join();
    expect(await ask(maker, true)).toBe('HTTP/1.1 200 OK');
    for (let count = 0; count < 3 * places; count += 1) await join();
    expect(await ask(maker, true)).toBe('HTTP/1.1 200 OK');
  });
});

test('somebody who signed in keeps their connection, and a stranger does not', async () => {
  const web = await guardedWeb();
  const cookie = await web.signIn('view');
  const open: Socket[] = [];
  onTestFinished(() => {
    for (const socket of open) socket.destroy();
  });
  const join = async (): Promise<Socket> => {
    const socket = connect(web.port, '127.0.0.1');
    socket.on('error', () => undefined);
    open.push(socket);
    await once(socket, 'connect');
    return socket;
  };
  const look = async (socket: Socket, header: string): Promise<string> => {
    socket.write(`GET /api/settings HTTP/1.1\r\nHost: ${web.name}\r\n${header}\r\n`);
    const [reply] = (await once(socket, 'data')) as [Buffer];
    return reply.toString().slice(0, 12);
  };
  const [stranger, maker] = [await join(), await join()];
  expect(await look(stranger, '')).toBe('HTTP/1.1 401');
  expect(await look(maker, `Cookie: ${cookie}\r\n`)).toBe('HTTP/1.1 200');
  // As many as fit, and some more.
  for (let count = 0; count < 220; count += 1) await join();
  expect([stranger.closed, maker.closed]).toEqual([true, false]);
  expect(await look(maker, `Cookie: ${cookie}\r\n`)).toBe('HTTP/1.1 200');
});

describe('the places of one listener', () => {
  class Guest extends EventEmitter {
    static #port = 1_000;
    readonly localAddress = '192.0.2.1';
    readonly remotePort = (Guest.#port += 1);
    readonly remoteAddress: string;
    ended = false;

    constructor(remoteAddress: string) {
      super();
      this.remoteAddress = remoteAddress;
    }

    destroy(): void {
      this.ended = true;
      this.emit('close');
    }
  }

  function arriving(book: AcceptBook, ...addresses: readonly string[]): readonly Guest[] {
    return addresses.map((address) => {
      const guest = new Guest(address);
      book.arrive(guest as unknown as Socket);
      return guest;
    });
  }

  const ends = (guests: readonly Guest[]) => guests.map(({ ended }) => ended);

  test('are cleared at the address that holds most of them, the oldest first', () => {
    const book = new AcceptBook(5);
    const maker = arriving(book, '192.0.2.7');
    const filler = arriving(book, ...Array<string>(4).fill('192.0.2.66'));
    arriving(book, '192.0.2.8', '192.0.2.66');
    expect(ends(maker)).toEqual([false]);
    expect(ends(filler)).toEqual([true, true, false, false]);
    expect(book.size).toBe(5);
  });

  test('count the addresses of one IPv6 network as one', () => {
    const book = new AcceptBook(5);
    const maker = arriving(book, '192.0.2.7', '192.0.2.7');
    const filler = arriving(book, '2001:db8:1:2:a::1', '2001:db8:1:2:b::2', '2001:db8:1:2:c::3');
    arriving(book, '192.0.2.8');
    expect([...ends(maker), ...ends(filler)]).toEqual([false, false, true, false, false]);
  });

  test('are not given to a newcomer where everybody is known, and are free again after an end', () => {
    const book = new AcceptBook(2);
    const known = arriving(book, '192.0.2.7', '192.0.2.8');
    for (const guest of known) book.vouch(guest as unknown as Socket);
    expect(ends(arriving(book, '192.0.2.9'))).toEqual([true]);
    known[0]?.destroy();
    expect(book.size).toBe(1);
    expect(ends(arriving(book, '192.0.2.9'))).toEqual([false]);
    expect(ends(known)).toEqual([true, false]);
  });
});
