/** Drivers by name, a driver of one's own, and the list of ports. */

import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { createRectifier, listSerialPorts, type RectifierSpec } from '../../drivers/registry.ts';
import { dialect } from './dialects.ts';
import { AnsweringLine } from './scripted-line.ts';
import { VirtualClock } from './virtual-clock.ts';

function spec(parts: Partial<RectifierSpec>): RectifierSpec {
  return {
    driver: 'scpi',
    dialect: dialect('scpi-subsystem'),
    link: { kind: 'in-process', instrument: new AnsweringLine(() => null) },
    clock: new VirtualClock(),
    expectIdentity: null,
    hardLimits: { maxVolts: 6, maxAmps: 2 },
    simulated: true,
    ...parts,
  };
}

describe('the built-in driver', () => {
  test('knows where another process finds the supply', async () => {
    const path = '/dev/serial/by-id/usb-one';
    const serial = await createRectifier(spec({ link: { kind: 'serial', path, baudRate: null } }));
    expect(serial.offScript).toEqual({
      path,
      baudRate: 9600,
      off: '\nOUTP OFF\nSYST:REM\n\nOUTP OFF\n',
      verifyQuery: 'OUTP?\n',
      verifyOffPattern: '^\\s*(?:(0|OFF))\\s*$',
    });
    const link = { kind: 'serial', path, baudRate: 115_200 } as const;
    expect((await createRectifier(spec({ link }))).offScript.baudRate).toBe(115_200);
    const tcp = spec({ link: { kind: 'tcp', host: '::1', port: 5025 } });
    expect((await createRectifier(tcp)).offScript).toMatchObject({
      path: 'tcp://[::1]:5025',
      baudRate: null,
    });
    expect((await createRectifier(spec({}))).offScript.path).toBeNull();
  });

  test('opens nothing by being made', async () => {
    const link = { kind: 'serial', path: '/nowhere', baudRate: null } as const;
    const rectifier = await createRectifier(spec({ link }));
    expect(rectifier.isConnected).toBe(false);
    await expect(rectifier.connect()).rejects.toThrow('/nowhere does not exist');
    await expect(rectifier.off()).resolves.toMatchObject({
      confirmed: false,
      reason: '/nowhere does not exist. Is it plugged in?',
    });
  });
});

describe('a driver of one’s own', () => {
  let folder = '';
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'nightbath-driver-'));
    const good = 'export const createRectifier = (spec) => ({ description: spec.dialect.name });';
    await writeFile(join(folder, 'good.mjs'), good);
    await writeFile(join(folder, 'empty.mjs'), 'export const other = 1;');
    await writeFile(join(folder, 'broken.mjs'), 'export const = 1;');
  });
  afterAll(() => rm(folder, { recursive: true, force: true }));

  test('is loaded from its path and given the spec', async () => {
    const rectifier = await createRectifier(spec({ driver: join(folder, 'good.mjs') }));
    expect(rectifier.description).toBe('scpi-subsystem');
  });

  test.each([
    ['missing.mjs', 'cannot be loaded'],
    ['broken.mjs', 'cannot be loaded'],
    ['empty.mjs', 'does not export a function createRectifier'],
  ])('%s is refused with its path', async (file, message) => {
    const driver = join(folder, file);
    const call = createRectifier(spec({ driver }));
    await expect(call).rejects.toThrow(message);
    await expect(call).rejects.toThrow(driver);
  });
});

describe('the list of ports', () => {
  test('names each port once, with a stable path where there is one', async () => {
    const ports = await listSerialPorts();
    const paths = ports.map(({ path }) => path);
    expect(new Set(paths).size).toBe(paths.length);
    for (const { path, stablePath, description } of ports) {
      expect(path).toMatch(/^\//);
      expect(stablePath === null || stablePath.startsWith('/dev/serial/by-id/')).toBe(true);
      expect(description).not.toBe('');
    }
  });

  test('does without udevadm', async () => {
    const path = process.env['PATH'];
    process.env['PATH'] = '/nowhere';
    try {
      await expect(listSerialPorts()).resolves.toBeInstanceOf(Array);
    } finally {
      process.env['PATH'] = path;
    }
  });
});
