/** The control socket: answers, pushes, refuses nonsense, and comes back. */

import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { connectControl } from '../../daemon/control/door.ts';
import { JsonLines } from '../../daemon/control/json-lines.ts';
import { ControlSocket, type Answer } from '../../daemon/control/socket-server.ts';
import type { ControlMessage } from '../../daemon/wire/command.ts';

let folder: string;
let path: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'nightbath-socket-'));
  path = join(folder, 'control.sock');
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const echo: Answer = (request) => Promise.resolve({ ok: true, message: request.command.kind });
const event: ControlMessage = {
  type: 'event',
  event: { id: 1, runId: null, tankId: 'one', atMs: null, wallMs: 5, code: 'x', message: 'y' },
};

async function until(done: () => boolean): Promise<void> {
  for (let count = 0; count < 400 && !done(); count += 1) await wait(5);
  expect(done()).toBe(true);
}

describe('the control socket', () => {
  it('greets, answers and pushes to every client', async () => {
    const server = new ControlSocket(path, echo, () => [event]);
    await server.listen();
    const clients = [connectControl(path), connectControl(path)];
    const heard: ControlMessage[][] = [[], []];
    clients.forEach((client, index) => client.onMessage((message) => heard[index]?.push(message)));
    await until(() => clients.every((client) => client.alive));
    expect(await clients[0]?.command({ kind: 'snapshot' }, 'k')).toEqual({
      ok: true,
      message: 'snapshot',
    });
    server.publish(event);
    await until(() => heard.every((messages) => messages.length === 2));
    for (const client of clients) client.close();
    await server.close();
  });

  it('says so when control is away, and finds it when it comes back', async () => {
    const client = connectControl(path);
    await expect(client.command({ kind: 'snapshot' }, 'k')).rejects.toThrow('not reachable');
    const alive: boolean[] = [];
    client.onAlive((now) => alive.push(now));
    const server = new ControlSocket(path, echo, () => []);
    await server.listen();
    await until(() => client.alive);
    await server.close();
    await until(() => !client.alive);
    expect(alive).toEqual([true, false]);
    client.close();
  });

  it('is not sent a command that it would hang up on', async () => {
    const server = new ControlSocket(path, echo, () => []);
    await server.listen();
    const client = connectControl(path);
    await until(() => client.alive);
    const base64 = 'A'.repeat(262_144);
    const command = { kind: 'picture-part', upload: 'a', index: 0, count: 1, base64 } as const;
    await expect(client.command(command, 'k')).rejects.toThrow('may have at most 262144');
    expect(client.alive).toBe(true);
    expect(await client.command({ kind: 'snapshot' }, 'k')).toMatchObject({ ok: true });
    client.close();
    await server.close();
  });

  it('hangs up on what is no request, also where it cannot be compared, and serves on', async () => {
    const server = new ControlSocket(path, echo, () => []);
    await server.listen();
    for (const line of ['{"id":1}', '{"id":1,"key":{"length":{"toString":1}},"command":{}}']) {
      const closed = await new Promise<boolean>((resolve) => {
        const socket = connect(path, () => socket.write(`${line}\n`));
        socket.on('close', () => resolve(true));
        socket.on('error', () => undefined);
      });
      expect(closed).toBe(true);
    }
    const client = connectControl(path);
    await until(() => client.alive);
    expect(await client.command({ kind: 'snapshot' }, 'k')).toMatchObject({ ok: true });
    client.close();
    await server.close();
  });

  it('answers a failure with its reason', async () => {
    const server = new ControlSocket(
      path,
      () => Promise.reject(new Error('no')),
      () => [],
    );
    await server.listen();
    const client = connectControl(path);
    await until(() => client.alive);
    expect(await client.command({ kind: 'snapshot' }, 'k')).toMatchObject({
      ok: false,
      code: 'unavailable',
      reason: 'no',
    });
    client.close();
    await server.close();
  });

  it('replaces the socket of a dead process, and refuses beside a live one', async () => {
    writeFileSync(path, '');
    const first = new ControlSocket(path, echo, () => []);
    await first.listen();
    const second = new ControlSocket(path, echo, () => []);
    await expect(second.listen()).rejects.toThrow('Another Nightbath runs this bench already');
    await first.close();
  });

  it.each([
    ['nonsense', 'hello\n'],
    ['a command that it does not know', '{"id":1,"key":"k","command":{"kind":"fly"}}\n'],
    ['a request without a key', '{"id":1,"command":{"kind":"snapshot"}}\n'],
    ['an endless line', 'x'.repeat(300_000)],
  ])('hangs up on %s', async (_name, text) => {
    const server = new ControlSocket(path, echo, () => []);
    await server.listen();
    const socket = connect(path);
    const closed = new Promise<void>((resolve) => socket.once('close', () => resolve()));
    socket.on('error', () => undefined);
    socket.write(text);
    await closed;
    await server.close();
  });
});

describe('JSON lines', () => {
  it('come whole however they are cut', () => {
    const taken: unknown[] = [];
    const lines = new JsonLines(100, (value) => taken.push(value));
    for (const letter of '{"a":1}\n\n[2]\n"é"\n') expect(lines.push(letter)).toBe(true);
    expect(taken).toEqual([{ a: 1 }, [2], 'é']);
  });

  it('are refused when too long or no JSON', () => {
    expect(new JsonLines(10, () => undefined).push('x'.repeat(11))).toBe(false);
    expect(new JsonLines(100, () => undefined).push('{]\n')).toBe(false);
  });
});
