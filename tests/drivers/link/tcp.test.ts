/** The TCP link against real sockets on loopback. */

import { createServer, type AddressInfo, type Socket } from 'node:net';
import { afterEach, describe, expect, test } from 'vitest';
import type { Framing, Link } from '../../../drivers/link/link.ts';
import { createTcpLink } from '../../../drivers/link/tcp.ts';
import { systemClock } from '../../../drivers/registry.ts';

const lines: Framing = { kind: 'lines', terminator: '\n', maxBytes: 64 };
const cleanUps: (() => Promise<void> | void)[] = [];

afterEach(async () => {
  for (const cleanUp of cleanUps.splice(0).toReversed()) await cleanUp();
});

interface Peer {
  readonly port: number;
  readonly sockets: Socket[];
  readonly stop: () => Promise<void>;
}

async function serve(onLine: (line: string, socket: Socket) => void): Promise<Peer> {
  const sockets: Socket[] = [];
  const server = createServer((socket) => {
    sockets.push(socket);
    socket.on('error', () => undefined);
    socket.on('data', (bytes) => {
      for (const line of bytes.toString('latin1').split('\n').slice(0, -1)) onLine(line, socket);
    });
  });
  await new Promise<void>((ready) => {
    server.listen(0, '127.0.0.1', ready);
  });
  const address = server.address() as AddressInfo;
  const stop = (): Promise<void> =>
    new Promise((stopped) => {
      for (const socket of sockets) socket.destroy();
      server.close(() => stopped());
    });
  cleanUps.push(stop);
  return { port: address.port, sockets, stop };
}

function link(port: number, framing = lines): Link {
  const made = createTcpLink({ host: '127.0.0.1', port }, systemClock, framing);
  cleanUps.push(() => made.close());
  return made;
}

const soon = (): number => systemClock.nowMs() + 1000;

describe('talking', () => {
  test('a question and its answer', async () => {
    const { port } = await serve((line, socket) => socket.write(`${line}!\n`));
    const tcp = link(port);
    await tcp.open();
    expect(tcp.isOpen).toBe(true);
    expect(tcp.name).toBe(`tcp://127.0.0.1:${port}`);
    await tcp.write('*IDN?\n');
    await tcp.drain();
    expect(await tcp.next(soon())).toBe('*IDN?!');
  });

  test('a mute peer is a time-out at the deadline', async () => {
    const { port } = await serve(() => undefined);
    const tcp = link(port);
    await tcp.open();
    const startMs = performance.now();
    await expect(tcp.next(systemClock.nowMs() + 80)).rejects.toMatchObject({ kind: 'timeout' });
    expect(performance.now() - startMs).toBeGreaterThanOrEqual(75);
    expect(tcp.isOpen).toBe(true);
  });

  test('a flood without a terminator is an overflow', async () => {
    const { port } = await serve((_, socket) => socket.write('7'.repeat(5000)));
    const tcp = link(port);
    await tcp.open();
    await tcp.write('?\n');
    await expect(tcp.next(soon())).rejects.toMatchObject({ kind: 'overflow' });
  });

  test('discarding drops what comes until it is quiet, and the half line with it', async () => {
    const { port } = await serve((line, socket) => {
      if (line === '?') socket.write('answer\n');
      else socket.write('noise\nhalf');
    });
    const tcp = link(port);
    await tcp.open();
    await tcp.write('!\n');
    await tcp.discard(60, 1000);
    await tcp.write('?\n');
    expect(await tcp.next(soon())).toBe('answer');
  });

  test('an interruption ends a wait and a discard at once', async () => {
    const { port } = await serve(() => undefined);
    const tcp = link(port);
    await tcp.open();
    const waiting = expect(tcp.next(soon())).rejects.toMatchObject({ kind: 'preempted' });
    tcp.interrupt();
    await waiting;
    const startMs = performance.now();
    const discarding = tcp.discard(900, 900);
    tcp.interrupt();
    await discarding;
    expect(performance.now() - startMs).toBeLessThan(500);
  });
});

describe('failing', () => {
  test('a port where nobody listens cannot be opened', async () => {
    const { port, stop } = await serve(() => undefined);
    await stop();
    const tcp = link(port);
    await expect(tcp.open()).rejects.toMatchObject({ kind: 'cannotOpen' });
    await expect(tcp.open()).rejects.toThrow(`tcp://127.0.0.1:${port} cannot be reached`);
    expect(tcp.isOpen).toBe(false);
  });

  test('a peer that goes away is closed, told apart from silence', async () => {
    const { port, sockets } = await serve(() => undefined);
    const tcp = link(port);
    await tcp.open();
    await tcp.write('?\n');
    const waiting = expect(tcp.next(soon())).rejects.toMatchObject({ kind: 'closed' });
    await expect.poll(() => sockets.length).toBe(1);
    sockets[0]?.destroy();
    await waiting;
    await expect(tcp.write('?\n')).rejects.toMatchObject({ kind: 'closed' });
    expect(tcp.isOpen).toBe(false);
  });

  test('what is written while it is closed is refused, and never sent later', async () => {
    const heard: string[] = [];
    const { port, sockets } = await serve((line, socket) => {
      heard.push(line);
      socket.write('yes\n');
    });
    const tcp = link(port);
    await tcp.open();
    await expect.poll(() => sockets.length).toBe(1);
    sockets[0]?.destroy();
    await expect.poll(() => tcp.isOpen).toBe(false);
    await expect(tcp.write('VOLT 12\n')).rejects.toMatchObject({ kind: 'closed' });
    await tcp.open();
    await tcp.write('?\n');
    expect(await tcp.next(soon())).toBe('yes');
    expect(heard).toEqual(['?']);
  });

  test('closing ends a wait, and can be done twice', async () => {
    const { port } = await serve(() => undefined);
    const tcp = link(port);
    await tcp.open();
    const waiting = expect(tcp.next(soon())).rejects.toMatchObject({ kind: 'closed' });
    await tcp.close();
    await waiting;
    await tcp.close();
    await expect(tcp.write('?\n')).rejects.toMatchObject({ kind: 'notOpen' });
  });
});
