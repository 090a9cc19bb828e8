/** The driver over a real serial port object on a real pseudo-terminal, and everything that goes wrong there. */

import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdtemp, readlink, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Rectifier } from '../../drivers/contract.ts';
import { createSerialLink, serialOpenError } from '../../drivers/link/serial.ts';
import { createRectifier, systemClock } from '../../drivers/registry.ts';
import { dialect } from '../drivers/dialects.ts';

const responderFile = new URL('./driver-responder.js', import.meta.url).pathname;
const gentle = { volts: 3, amps: 0.25 };
const shipped = dialect('scpi-subsystem');
/** A busy machine may keep one reply waiting; only what is about silence holds the shipped time. */
const patient = { ...shipped, rx: { ...shipped.rx, timeoutMs: 1000 } };

let folder = '';
let device = '';
let host = '';
const children = new Set<ChildProcess>();
const rectifiers: Rectifier[] = [];

function start(command: string, parameters: readonly string[]): ChildProcess {
  const child = spawn(command, parameters, { stdio: ['ignore', 'pipe', 'ignore'] });
  children.add(child);
  child.once('exit', () => children.delete(child));
  return child;
}

async function stop(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const gone = new Promise((exited) => {
    child.once('exit', exited);
  });
  child.kill('SIGKILL');
  await gone;
}

/** Two joined pseudo-terminals, as a cable. */
async function plugIn(): Promise<ChildProcess> {
  await rm(device, { force: true });
  await rm(host, { force: true });
  const ends = [`pty,raw,echo=0,link=${device}`, `pty,raw,echo=0,link=${host}`];
  const cable = start('socat', ['-d', ...ends]);
  await expect.poll(() => existsSync(device) && existsSync(host), { timeout: 5000 }).toBe(true);
  return cable;
}

/** A supply at the far end, and the lines it has obeyed. */
async function switchOn(identity?: string): Promise<{ supply: ChildProcess; heard: string[] }> {
  const parameters = identity === undefined ? [host] : [host, identity];
  const supply = start(process.execPath, [responderFile, ...parameters]);
  const heard: string[] = [];
  supply.stdout?.on('data', (bytes: Buffer) => {
    heard.push(...bytes.toString('latin1').split('\n').slice(0, -1));
  });
  await expect.poll(() => heard, { timeout: 5000 }).toContain('ready');
  return { supply, heard };
}

async function make(spoken = patient, path = device): Promise<Rectifier> {
  const rectifier = await createRectifier({
    driver: 'scpi',
    dialect: spoken,
    link: { kind: 'serial', path, baudRate: 115_200 },
    clock: systemClock,
    expectIdentity: null,
    hardLimits: { maxVolts: 6, maxAmps: 0.5 },
    simulated: false,
  });
  rectifiers.push(rectifier);
  return rectifier;
}

async function running(spoken = patient): Promise<Rectifier> {
  const rectifier = await make(spoken);
  await rectifier.connect();
  await rectifier.program(gentle);
  await rectifier.on();
  return rectifier;
}

beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'nightbath-driver-'));
  device = join(folder, 'device');
  host = join(folder, 'host');
});

afterEach(async () => {
  for (const rectifier of rectifiers.splice(0)) await rectifier.close();
  for (const child of children) await stop(child);
  await rm(folder, { recursive: true, force: true });
});

describe('opening', () => {
  test.each([
    ['a path that is not there', () => join(folder, 'none'), 'does not exist'],
    ['a directory', () => folder, 'is a directory'],
    ['a device that is no terminal', () => '/dev/null', 'is not a serial port'],
  ])('%s is refused with its path', async (_, path, message) => {
    const rectifier = await make(patient, path());
    await expect(rectifier.connect()).rejects.toMatchObject({ kind: 'cannotOpen' });
    await expect(rectifier.connect()).rejects.toThrow(`${path()} ${message}`);
  });

  test('a plain file is refused', async () => {
    const path = join(folder, 'file');
    await writeFile(path, '');
    await expect((await make(patient, path)).connect()).rejects.toThrow(
      `${path} is not a serial port`,
    );
  });

  test('a link that leads nowhere is a port that is not plugged in', async () => {
    const cable = await plugIn();
    await stop(cable);
    await expect((await make()).connect()).rejects.toMatchObject({ kind: 'cannotOpen' });
  });

  test('a port that is in use is told so', async () => {
    await plugIn();
    await switchOn();
    const first = await make();
    await first.connect();
    const second = await make();
    await expect(second.connect()).rejects.toMatchObject({ kind: 'locked' });
    await expect(second.connect()).rejects.toThrow(`${device} is in use by another program`);
    expect(await second.off()).toMatchObject({ confirmed: false });
    await first.close();
    await second.connect();
    expect(second.isConnected).toBe(true);
  });

  test('a port that this user may not open is told so', () => {
    const cause = new Error('Error: Permission denied, cannot open /dev/ttyUSB0');
    const error = serialOpenError('/dev/serial/by-id/usb-one', cause);
    expect(error.kind).toBe('cannotOpen');
    expect(error.message).toMatch(/^\/dev\/serial\/by-id\/usb-one may not be opened by this user/);
  });

  test('a mute device is a time-out, not a connection', async () => {
    await plugIn();
    const rectifier = await make(shipped);
    await expect(rectifier.connect()).rejects.toMatchObject({ kind: 'timeout' });
    expect(rectifier.isConnected).toBe(false);
  });

  test('another supply under the same path is refused', async () => {
    await plugIn();
    await switchOn('NIGHTBATH,SIM-20-3C,SIM0002,2.1');
    const rectifier = await make();
    await rectifier.connect();
    await rectifier.close();
    for (const child of children) if (child.spawnargs[0] !== 'socat') await stop(child);
    await switchOn('NIGHTBATH,SIM-30-5,SIM0001,1.0');
    await expect(rectifier.connect()).rejects.toMatchObject({ kind: 'wrongDevice' });
  });
});

describe('talking', () => {
  test('a whole conversation, from connecting to OFF', async () => {
    await plugIn();
    const { heard } = await switchOn();
    const rectifier = await make();
    const report = await rectifier.connect();
    expect(report).toMatchObject({ outputOn: false, range: { maxVolts: 30, maxAmps: 5 } });
    expect(await rectifier.program(gentle)).toMatchObject(gentle);
    await rectifier.on();
    expect(await rectifier.read()).toMatchObject({
      volts: 1.5,
      amps: 0.25,
      outputOn: true,
      regulation: 'constantCurrent',
    });
    expect(await rectifier.off()).toMatchObject({ confirmed: true, amps: 0 });
    await rectifier.close();
    await expect.poll(() => heard.at(-1), { timeout: 10_000 }).toBe('SYST:LOC');
    // A busy machine may let one reply wait past its time; it is asked again, and nothing is mixed up.
    expect(rectifier.health.garbled).toBe(0);
    expect(rectifier.health.timeouts).toBeLessThanOrEqual(1);
  });

  test('OFF overtakes a reading that a frozen supply does not answer, and is unconfirmed', async () => {
    await plugIn();
    const { supply, heard } = await switchOn();
    const rectifier = await running(shipped);
    supply.kill('SIGSTOP');
    const reading = expect(rectifier.read()).rejects.toMatchObject({ kind: 'preempted' });
    await systemClock.sleep(20);
    const startMs = performance.now();
    const report = await rectifier.off();
    await reading;
    expect(report.confirmed).toBe(false);
    expect(performance.now() - startMs).toBeLessThan(5000);
    supply.kill('SIGCONT');
    await expect.poll(() => heard, { timeout: 10_000 }).toContain('OUTP OFF');
    expect(await rectifier.off()).toMatchObject({ confirmed: true });
  });

  test('silence is a time-out, and the reading after it is sound', async () => {
    await plugIn();
    const { supply } = await switchOn();
    const rectifier = await running(shipped);
    supply.kill('SIGSTOP');
    await expect(rectifier.read()).rejects.toMatchObject({ kind: 'timeout' });
    expect(rectifier.isConnected).toBe(true);
    supply.kill('SIGCONT');
    expect(await rectifier.read()).toMatchObject({ volts: 1.5, amps: 0.25, outputOn: true });
  });
});

describe('the plug', () => {
  test('pulled is a closed line; OFF is unconfirmed until it is back under the same link', async () => {
    const cable = await plugIn();
    const { supply } = await switchOn();
    const rectifier = await running();
    const before = await readlink(device);
    await stop(cable);
    await expect.poll(() => rectifier.isConnected, { timeout: 10_000 }).toBe(false);
    await expect(rectifier.read()).rejects.toMatchObject({ kind: 'closed' });
    expect(await rectifier.off()).toMatchObject({ confirmed: false });
    await stop(supply);

    // Held open, the old number is not given again: the device comes back under another name.
    const held = ['one', 'two'].map((name) => join(folder, name));
    const spare = start('socat', ['-d', ...held.map((path) => `pty,raw,echo=0,link=${path}`)]);
    await expect.poll(() => held.every((path) => existsSync(path))).toBe(true);
    await plugIn();
    const { heard } = await switchOn();
    expect(await readlink(device)).not.toBe(before);
    expect(await rectifier.off()).toMatchObject({ confirmed: true });
    // Who stands there is asked first; of what is told, OFF is the first.
    expect(heard.find((line) => line !== 'ready')).toBe('*IDN?');
    expect(heard.find((line) => line !== 'ready' && !line.includes('?'))).toBe('OUTP OFF');
    expect(rectifier.isConnected).toBe(false);
    await rectifier.connect();
    expect(await rectifier.read()).toMatchObject({ outputOn: false });
    await stop(spare);
  });

  test('pulled while a reply is awaited ends the wait as closed, not as a time-out', async () => {
    const cable = await plugIn();
    const { supply } = await switchOn();
    const rectifier = await running(shipped);
    supply.kill('SIGSTOP');
    const reading = expect(rectifier.read()).rejects.toMatchObject({ kind: 'closed' });
    await systemClock.sleep(30);
    await stop(cable);
    await reading;
    supply.kill('SIGCONT');
  });

  test('what was written after it was pulled never reaches the supply that comes back', async () => {
    const cable = await plugIn();
    const { supply } = await switchOn();
    const rectifier = await running();
    await stop(cable);
    await expect(rectifier.program({ volts: 5, amps: 0.4 })).rejects.toMatchObject({
      kind: 'closed',
    });
    await stop(supply);
    await plugIn();
    const { heard } = await switchOn();
    await rectifier.connect();
    await rectifier.read();
    expect(heard.filter((line) => line.startsWith('VOLT '))).toEqual([]);
  });
});

describe('a stuck line', () => {
  test('a write that is never taken ends in a time-out, and the port still closes', async () => {
    const cable = await plugIn();
    const options = {
      path: device,
      baudRate: 9600,
      dataBits: 8,
      parity: 'none',
      stopBits: 1,
      flow: 'none',
      dtr: true,
      rts: true,
    } as const;
    const link = createSerialLink(options, systemClock, { kind: 'raw', maxBytes: 64 });
    await link.open();
    cable.kill('SIGSTOP');
    const startMs = performance.now();
    await expect(link.write('x'.repeat(200_000))).rejects.toMatchObject({ kind: 'timeout' });
    await link.drain();
    await link.close();
    expect(performance.now() - startMs).toBeLessThan(5000);
    expect(link.isOpen).toBe(false);
    cable.kill('SIGCONT');
  });
});
