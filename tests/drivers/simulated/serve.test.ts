/** The supply over real sockets and streams, and the side door that tests use. */

import { once } from 'node:events';
import { connect, type Socket } from 'node:net';
import { PassThrough } from 'node:stream';
import { afterEach, describe, expect, it } from 'vitest';
import { createInstrument } from '../../../drivers/simulated/instrument.ts';
import {
  runSimulatedRectifier,
  type RunningRectifier,
} from '../../../drivers/simulated/rectifier.ts';
import { serveTcp } from '../../../drivers/simulated/serve.ts';

const ends: (() => unknown)[] = [];
afterEach(async () => {
  for (const end of ends.splice(0).toReversed()) await end();
});

/** A client that reads one line at a time. */
class Client {
  readonly socket: Socket;
  #text = '';

  constructor(port: number) {
    this.socket = connect({ port, host: '127.0.0.1' });
    this.socket.setEncoding('latin1');
    this.socket.on('data', (piece: string) => {
      this.#text += piece;
    });
    ends.push(() => this.socket.destroy());
  }

  async line(): Promise<string> {
    while (!this.#text.includes('\n')) await once(this.socket, 'data');
    const end = this.#text.indexOf('\n');
    const line = this.#text.slice(0, end);
    this.#text = this.#text.slice(end + 1);
    return line;
  }

  async ask(text: string): Promise<string> {
    this.socket.write(`${text}\n`, 'latin1');
    return this.line();
  }

  async json(request: object): Promise<unknown> {
    return JSON.parse(await this.ask(JSON.stringify(request)));
  }
}

async function run(
  options: Parameters<typeof runSimulatedRectifier>[0],
): Promise<RunningRectifier> {
  const running = await runSimulatedRectifier({ notice: () => {}, ...options });
  ends.push(() => running.close());
  return running;
}

describe('over TCP', () => {
  it('answers on loopback, and tells the port it was given', async () => {
    const { port } = await run({
      personality: 'scpi-subsystem',
      line: { kind: 'tcp', port: 0 },
    });
    const client = new Client(port ?? 0);
    expect(await client.ask('*IDN?')).toBe('NIGHTBATH,SIM-30-5,SIM0001,1.0');
    client.socket.write('VOLT 2;CURR 0.5;:OUTP ON\n');
    expect(await client.ask('OUTP?;:CURR?')).toBe('1;0.5000');
  });

  it('keeps raw bytes above 127 as they are', async () => {
    const instrument = createInstrument({ personality: 'fixed-length', latencyMs: 0 });
    const serving = await serveTcp(instrument, { port: 0 });
    ends.push(() => serving.close());
    instrument.faults.set('wrongIdentity', { text: '\u00b5\u00ff' });
    const client = new Client(serving.port);
    client.socket.write('*IDN?');
    expect(await once(client.socket, 'data')).toEqual(['\u00b5\u00ff']);
  });

  it('serves a second client beside the first, and whoever sent last gets the reply', async () => {
    const { port } = await run({ personality: 'vset-iset', line: { kind: 'tcp', port: 0 } });
    const first = new Client(port ?? 0);
    expect(await first.ask('OUT?')).toBe('0\r');
    const second = new Client(port ?? 0);
    expect(await second.ask('ID?')).toBe('NIGHTBATH-SIM-18-10-SIM0003\r');
    expect(await first.ask('ERR?')).toBe('0\r');
  });

  it('keeps a half-sent command of a client that has gone', async () => {
    const { port, instrument } = await run({
      personality: 'scpi-subsystem',
      line: { kind: 'tcp', port: 0 },
    });
    const first = new Client(port ?? 0);
    expect(await first.ask('VOLT 1;VOLT?')).toBe('1.000');
    first.socket.end('VOLT 2.');
    await once(first.socket, 'close');
    const second = new Client(port ?? 0);
    expect(await second.ask('5;VOLT?')).toBe('2.500');
    expect(instrument.faults.active()).toEqual([]);
  });

  it('rejects when the port is taken', async () => {
    const { port } = await run({ personality: 'vset-iset', line: { kind: 'tcp', port: 0 } });
    await expect(
      runSimulatedRectifier({
        personality: 'vset-iset',
        line: { kind: 'tcp', port: port ?? 0 },
        notice: () => {},
      }),
    ).rejects.toThrow(/EADDRINUSE/u);
  });

  it('closes its listener when the side door cannot be opened', async () => {
    const { port } = await run({ personality: 'vset-iset', line: { kind: 'tcp', port: 0 } });
    await expect(
      runSimulatedRectifier({
        personality: 'vset-iset',
        line: { kind: 'tcp', port: 0 },
        controlPort: port ?? 0,
        notice: () => {},
      }),
    ).rejects.toThrow(/EADDRINUSE/u);
  });

  it('closes with its clients and says that it has ended', async () => {
    const running = await run({ personality: 'vset-iset', line: { kind: 'tcp', port: 0 } });
    const client = new Client(running.port ?? 0);
    await client.ask('OUT?');
    const closed = once(client.socket, 'close');
    await running.close();
    await closed;
    await running.ended;
  });
});

describe('the side door', () => {
  it('switches faults and tells the truth while the line carries only the language', async () => {
    const { port, controlPort } = await run({
      personality: 'scpi-subsystem',
      line: { kind: 'tcp', port: 0 },
      controlPort: 0,
    });
    const client = new Client(port ?? 0);
    const door = new Client(controlPort ?? 0);
    client.socket.write('VOLT 2;CURR 0.5;:OUTP ON\n');
    expect(await client.ask('OUTP?')).toBe('1');
    expect(await door.json({ fault: 'badReading', on: true, text: 'NAN' })).toEqual({
      ok: true,
      faults: ['badReading'],
    });
    expect(await client.ask('MEAS:CURR?')).toBe('NAN');
    expect(await door.json({ truth: true })).toMatchObject({
      ok: true,
      truth: { outputOn: true, setAmps: 0.5, offsReceived: 0, faults: ['badReading'] },
    });
    expect(await door.json({ fault: 'badReading', on: false })).toEqual({ ok: true, faults: [] });
    expect(await door.json({ fault: 'knob', amps: 0.7 })).toEqual({ ok: true, faults: [] });
    expect(await client.ask('CURR?')).toBe('0.7000');
    expect(await door.json({ fault: 'outputKey', on: false })).toMatchObject({ ok: true });
    expect(await client.ask('OUTP?')).toBe('0');
    await door.json({ fault: 'slow' });
    await door.json({ fault: 'echo' });
    expect(await door.json({ clear: true })).toEqual({ ok: true, faults: [] });
  });

  it('refuses what it does not know with a sentence and stays open', async () => {
    const { controlPort } = await run({
      personality: 'scpi-subsystem',
      line: { kind: 'tcp', port: 0 },
      controlPort: 0,
    });
    const door = new Client(controlPort ?? 0);
    expect(JSON.parse(await door.ask('not json'))).toMatchObject({ ok: false });
    expect(await door.json({ other: 1 })).toMatchObject({ ok: false });
    expect(await door.json({ fault: 'fire', on: true })).toMatchObject({
      ok: false,
      error: expect.stringContaining('fault fire is not one of'),
    });
    expect(await door.json({ fault: 'slow', on: true, extraMs: -1 })).toMatchObject({
      ok: false,
      error: expect.stringContaining('slow.extraMs'),
    });
    expect(await door.json({ fault: '__proto__' })).toMatchObject({ ok: false });
    expect(await door.json({ truth: true })).toMatchObject({ ok: true });
  });
});

describe('over the standard streams', () => {
  it('speaks only the language and ends, side door included, with its input', async () => {
    const input = new PassThrough();
    const output = new PassThrough();
    const notices: string[] = [];
    const running = await run({
      personality: 'scpi-subsystem',
      line: { kind: 'stdio', input, output },
      controlPort: 0,
      notice: (text) => notices.push(text),
    });
    expect(running.port).toBeNull();
    input.write('*IDN?\n');
    output.setEncoding('latin1');
    expect(await once(output, 'data')).toEqual(['NIGHTBATH,SIM-30-5,SIM0001,1.0\n']);
    expect(notices).toHaveLength(1);
    const door = new Client(running.controlPort ?? 0);
    expect(await door.json({ truth: true })).toMatchObject({ ok: true });
    const closed = once(door.socket, 'close');
    input.end();
    await running.ended;
    await closed;
  });

  it('ends when the other side breaks', async () => {
    const input = new PassThrough();
    const output = new PassThrough();
    const running = await run({
      personality: 'vset-iset',
      line: { kind: 'stdio', input, output },
    });
    output.destroy(new Error('EPIPE'));
    await running.ended;
  });

  it('ends from this side when it is closed', async () => {
    const input = new PassThrough();
    const running = await run({
      personality: 'vset-iset',
      line: { kind: 'stdio', input, output: new PassThrough() },
    });
    await running.close();
    expect(input.listenerCount('data')).toBe(0);
  });
});
