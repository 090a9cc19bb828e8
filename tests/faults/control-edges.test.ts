/** The control process at its edges: told to leave while it comes up, left alone, and a terminal that closes. */

import { fork, type ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { toSentinelSchema, type FromSentinel, type ToSentinel } from '../../daemon/wire/process.ts';
import { testSettings, until } from '../serial/test-bench.ts';

const script = new URL('../../dist/daemon/control/main.js', import.meta.url).pathname;
let folder: string;
let child: ChildProcess;
let said: ToSentinel[];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'nightbath-edges-'));
  const file = join(folder, 'bench.toml');
  const database = join(folder, 'runs.sqlite');
  writeFileSync(file, testSettings(database, '{ kind = "in-process" }', 'scpi-subsystem'));
  said = [];
  child = fork(script, [], {
    env: {
      ...process.env,
      NIGHTBATH_CONFIG: file,
      XDG_STATE_HOME: join(folder, 'state'),
      XDG_CONFIG_HOME: join(folder, 'config'),
    },
    stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
  });
  child.on('message', (raw) => said.push(toSentinelSchema.parse(raw)));
});
afterEach(() => {
  if (child.exitCode === null && child.signalCode === null) child.kill('SIGKILL');
  rmSync(folder, { recursive: true, force: true });
});

const shutDown: FromSentinel = { kind: 'shut-down' };

function ready(): Promise<unknown> {
  return until('control to be ready', () => said.some((one) => one.kind === 'ready'));
}

describe('control', () => {
  it.each([0, 60, 150, 300])(
    'that is told to leave %d ms after its birth says that its outputs are off, and ends with 0',
    async (delayMs) => {
      await wait(delayMs);
      child.send(shutDown);
      const [code] = (await once(child, 'exit')) as [number | null];
      expect(said).toContainEqual({ kind: 'stopped', offConfirmed: true });
      expect(code).toBe(0);
    },
  );

  it.each([0, 100, 300])(
    'that loses its sentinel %d ms after its birth ends by itself',
    async (delayMs) => {
      await wait(delayMs);
      child.disconnect();
      const [code] = (await once(child, 'exit')) as [number | null];
      expect(code).toBe(1);
    },
  );

  it('lives on when its terminal closes, and leaves in order after', async () => {
    await ready();
    child.kill('SIGHUP');
    const beats = said.length;
    await until('a few more beats', () => said.length > beats + 3);
    expect(child.exitCode).toBeNull();
    child.send(shutDown);
    const [code] = (await once(child, 'exit')) as [number | null];
    expect(code).toBe(0);
    expect(said.at(-1)).toEqual({ kind: 'stopped', offConfirmed: true });
  });
});
